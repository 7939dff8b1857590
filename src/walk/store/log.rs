//! Events to and from the book's entries.

use crate::book::{Book, Draft, Entry};
use crate::diagnostics::Findings;
use crate::fingerprint::Fingerprint;
use crate::interlock::State;
use crate::interlock::event::{Event, RunStart, TimedEvent, VERSION};
use crate::procedure::{Procedure, Shop, read, shop};
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Events as the book takes them.
pub fn drafts(events: &[Event], at: Moment) -> Result<Vec<Draft>, WalkError> {
    events
        .iter()
        .map(|event| draft(event.kind(), VERSION, at, event))
        .collect()
}

/// An entry of any stream as the book takes it.
pub(crate) fn draft<T: Serialize>(
    kind: &str,
    version: u32,
    at: Moment,
    entry: &T,
) -> Result<Draft, WalkError> {
    let body = serde_json::to_string(entry)
        .map_err(|e| WalkError::Fault(format!("an entry {kind} cannot be written: {e}")))?;
    Ok(Draft {
        at: at.to_string(),
        kind: kind.to_owned(),
        version,
        body,
    })
}

/// An entry as the event it is.
pub fn event(entry: &Entry) -> Result<TimedEvent, WalkError> {
    let (at, event) = stored(entry, VERSION)?;
    Ok(TimedEvent { at, event })
}

/// When an entry was made, and what its body says, where this program knows its version.
pub(crate) fn stored<T: DeserializeOwned>(
    entry: &Entry,
    known: u32,
) -> Result<(Moment, T), WalkError> {
    let fault = |reason: String| WalkError::Event {
        run: entry.run.clone(),
        n: entry.n,
        reason,
    };
    if entry.version > known {
        return Err(WalkError::Newer {
            run: entry.run.clone(),
            n: entry.n,
            found: entry.version,
            known,
        });
    }
    let read = serde_json::from_str(&entry.body).map_err(|e| fault(e.to_string()))?;
    let at = entry
        .at
        .parse()
        .map_err(|_| fault(format!("its time is {:?}", entry.at)))?;
    Ok((at, read))
}

/// A run as the book holds it.
#[derive(Debug)]
pub struct Loaded {
    /// Its events.
    pub events: Vec<TimedEvent>,
    /// What they add up to.
    pub state: State,
    /// The number of its last entry.
    pub n: u32,
    /// The digest of its last entry.
    pub digest: Fingerprint,
    /// The place of its last entry in the book.
    pub seq: u64,
    /// The place in the book of its last release, if it has any.
    pub released: Option<u64>,
}

/// The version of events since which a run that is taken up again says where its answers come from.
const ORIGIN_SINCE: u32 = 5;

/// The runs that have an answer from a file. Where answers come from changes only where a run begins and where it is taken up
/// again; older entries say it in their sign-offs alone.
pub(crate) fn from_files(book: &Book) -> Result<BTreeSet<String>, WalkError> {
    let kinds = [
        ("began", u32::MAX),
        ("resumed", u32::MAX),
        ("answered", ORIGIN_SINCE),
    ];
    let mut runs = BTreeSet::new();
    for entry in book.entries_of(&kinds)? {
        if event(&entry)?.event.is_from_file() {
            runs.insert(entry.run);
        }
    }
    Ok(runs)
}

/// Loads a run: its own procedure and shop file, and every event folded.
pub fn load(book: &Book, run: &str) -> Result<Loaded, WalkError> {
    replay(book, run, |_, _, _| Ok(()))
}

/// Loads a run, and hands each event, with its number and the state before it, to `look` before it is folded.
pub fn replay(
    book: &Book,
    run: &str,
    mut look: impl FnMut(u32, &State, &Event) -> Result<(), WalkError>,
) -> Result<Loaded, WalkError> {
    let entries = book.entries(run)?;
    let events: Vec<TimedEvent> = entries.iter().map(event).collect::<Result<_, _>>()?;
    let (n, digest, seq) = entries
        .last()
        .map_or((0, Fingerprint::NONE, 0), |e| (e.n, e.digest, e.seq));
    let mut both = entries.iter().zip(&events).rev();
    let released = both
        .find(|(_, stamped)| matches!(stamped.event, Event::Released { .. }))
        .map(|(entry, _)| entry.seq);
    let Some(TimedEvent {
        at,
        event: Event::Began(begun),
    }) = events.first()
    else {
        return Err(WalkError::Event {
            run: run.to_owned(),
            n: 1,
            reason: "a run begins with its beginning".to_owned(),
        });
    };
    let (procedure, shop) = documents(book, run, begun)?;
    let mut state = State::new(procedure, shop, begun.clone(), *at);
    for (stamped, entry) in events.iter().zip(&entries).skip(1) {
        look(entry.n, &state, &stamped.event)?;
        state.apply(stamped.at, &stamped.event);
    }
    Ok(Loaded {
        events,
        state,
        n,
        digest,
        seq,
        released,
    })
}

fn documents(
    book: &Book,
    run: &str,
    begun: &RunStart,
) -> Result<(Arc<Procedure>, Arc<Shop>), WalkError> {
    let unreadable = |what| WalkError::Document {
        run: run.to_owned(),
        what,
    };
    let mut findings = Findings::of_record();
    let text = book.document(begun.procedure)?;
    let procedure = read::read(&text, &mut findings).ok_or_else(|| unreadable("procedure"))?;
    let text = book.document(begun.shop)?;
    let shop = shop::read(&text, &mut findings).ok_or_else(|| unreadable("shop file"))?;
    Ok((Arc::new(procedure), Arc::new(shop)))
}
