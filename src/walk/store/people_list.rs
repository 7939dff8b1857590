//! The list of people in the book: loaded, checked, added to.

use crate::book::{Book, Draft, Entry};
use crate::clock::Clock;
use crate::people::event::VERSION;
use crate::people::{People, Signed};
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use crate::walk::store::log;

/// The ledger's name in the book.
pub const LEDGER: &str = "people";

/// The list as it stands.
pub fn load(book: &Book) -> Result<People, WalkError> {
    let mut people = People::default();
    for entry in book.ledger(LEDGER)? {
        let (at, signed) = read(&entry)?;
        people.apply(at, &signed);
    }
    Ok(people)
}

/// Checks every entry of the list: that it loads, could be done then, and bears the signature of an owner of then.
/// How many there are.
///
/// # Errors
/// [`WalkError::People`] with the first that does not hold.
pub fn verify(book: &Book) -> Result<u32, WalkError> {
    let mut people = People::default();
    for entry in book.ledger(LEDGER)? {
        let (at, signed) = read(&entry)?;
        let bad = |reason: String| WalkError::People { n: entry.n, reason };
        if entry.kind != signed.event.kind() {
            return Err(bad("its kind is not the one in its content".to_owned()));
        }
        people
            .check(at, &signed)
            .map_err(|fault| bad(fault.to_string()))?;
        people.apply(at, &signed);
    }
    Ok(people.n())
}

/// The list at every point of the book: as it stood after the entry of that place.
pub(crate) fn history(book: &Book) -> Result<Vec<(u64, People)>, WalkError> {
    let mut people = People::default();
    let mut history = Vec::new();
    for entry in book.ledger(LEDGER)? {
        let (at, signed) = read(&entry)?;
        people.apply(at, &signed);
        history.push((entry.seq, people.clone()));
    }
    Ok(history)
}

/// Every entry of the list, in its order.
pub fn entries(book: &Book) -> Result<Vec<(Moment, Signed)>, WalkError> {
    book.ledger(LEDGER)?.iter().map(read).collect()
}

/// Adds to the list; it is on disk, and folded in, when this returns.
pub fn append(
    book: &mut Book,
    people: &mut People,
    at: Moment,
    signed: &Signed,
) -> Result<(), WalkError> {
    book.append_to_ledger(LEDGER, people.n(), &[draft(at, signed)?])?;
    people.apply(at, signed);
    Ok(())
}

/// Reads the list anew and adds what `decide` makes of it, under the book's write lock: nothing another terminal does
/// can come between. `people` is the list afterwards. The time is read after `decide`, which may take long: a wait that
/// begins with the event begins when its outcome is known.
///
/// # Errors
/// Those of `decide`, after which nothing is written.
pub(crate) fn decide<T>(
    book: &mut Book,
    people: &mut People,
    clock: &dyn Clock,
    decide: impl FnOnce(&People) -> Result<(T, Option<Signed>), WalkError>,
) -> Result<T, WalkError> {
    let mut fresh = People::default();
    let decided = book.decide_in_ledger(LEDGER, |entries| {
        for entry in entries {
            let (at, signed) = read(entry)?;
            fresh.apply(at, &signed);
        }
        let (decided, signed) = decide(&fresh)?;
        let at = clock.now();
        let drafts = signed.iter().map(|s| draft(at, s));
        let drafts = drafts.collect::<Result<Vec<_>, _>>()?;
        if let Some(signed) = &signed {
            fresh.apply(at, signed);
        }
        Ok::<_, WalkError>((decided, drafts))
    })?;
    *people = fresh;
    Ok(decided)
}

fn draft(at: Moment, signed: &Signed) -> Result<Draft, WalkError> {
    log::draft(signed.event.kind(), VERSION, at, signed)
}

fn read(entry: &Entry) -> Result<(Moment, Signed), WalkError> {
    let bad = |reason: String| WalkError::People { n: entry.n, reason };
    if entry.version > VERSION {
        return Err(bad(format!(
            "it is of format {}, this skimgate knows formats up to {VERSION}; use the newer skimgate that wrote it",
            entry.version
        )));
    }
    let signed = serde_json::from_str(&entry.body).map_err(|e| bad(e.to_string()))?;
    let at = entry
        .at
        .parse()
        .map_err(|_| bad(format!("its time is {:?}", entry.at)))?;
    Ok((at, signed))
}
