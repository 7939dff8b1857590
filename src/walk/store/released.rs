//! Whether cycle start is released, asked from elsewhere than the terminal that holds the run; and whether the book can be
//! trusted to say so.

use crate::book::{Book, RunSummary};
use crate::clock::Clock;
use crate::interlock::State;
use crate::interlock::gate::{self, Cleared, Held, Hold, LatestSeen, Requester};
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use crate::walk::program;
use crate::walk::store::log;
use crate::walk::store::machines;
use crate::walk::store::people_list;
use crate::walk::store::replay::replay;

/// A book of up to so many entries is checked whole; some hundred runs, and a fraction of a second.
const CHECKED_WHOLE: u64 = 20_000;

/// An open run as it stands, seen from elsewhere.
#[derive(Debug)]
pub(crate) struct ObservedRun {
    /// What the run adds up to.
    pub state: State,
    /// The permission, or every reason to hold.
    pub released: Result<Cleared, Vec<Hold>>,
}

/// Checks the book before it is walked on, or asked whether something is released: what follows from a damaged one cannot be
/// trusted.
///
/// # Errors
/// What is damaged.
pub(crate) fn check_book(book: &Book) -> Result<(), WalkError> {
    book.check_for_walking(CHECKED_WHOLE)?;
    people_list::verify(book).map(drop)
}

/// Checks the book, and one run of it with its sign-offs and releases, as they stand on disk at this moment.
///
/// # Errors
/// What is damaged.
pub(crate) fn check(book: &Book, run: &str) -> Result<(), WalkError> {
    // Opened anew: pages that this process read before would hide what changed on disk since.
    let book = Book::open_existing(book.path())?;
    check_book(&book)?;
    replay(&book, run)
}

/// Looks whether the cut that is next in an open run is released. The book was checked with [`check_book`].
///
/// # Errors
/// What is damaged in the run, and those of reading it.
pub(crate) fn observe(
    book: &Book,
    run: &RunSummary,
    clock: &dyn Clock,
) -> Result<ObservedRun, WalkError> {
    replay(book, &run.run)?;
    let loaded = log::load(book, &run.run)?;
    let mut state = loaded.state;
    machines::add_to(book, &mut state)?;
    let people = people_list::load(book)?;
    // After the run was read: who made the release and holds the machine now held it all the time.
    let held = match book.claimed_after(&run.machine)? {
        None => Held::ByNobody,
        // A terminal that has just come has not yet dropped the release that it found.
        Some(after) if loaded.released.is_some_and(|seq| seq <= after) => Held::ByAnother,
        Some(_) => Held::ByReleaser,
    };
    let now = clock.now();
    // Without a release there is nothing that a clock set back could bring to life again.
    let seen = if held == Held::ByReleaser && state.release.is_some() {
        latest_seen(book, run, (loaded.n, loaded.seq), now)?
    } else {
        LatestSeen::Stored(now)
    };
    let asks = Requester::Elsewhere { held, seen };
    let released = gate::start(&state, now, program::seen(&state), &people, asks);
    Ok(ObservedRun { state, released })
}

/// The latest time that anybody saw since entry `n` of the run, which stands at `seq` in the book: `now`, that of who asked
/// before, or that of what is recorded since in other runs and ledgers.
fn latest_seen(
    book: &Book,
    run: &RunSummary,
    (n, seq): (u32, u64),
    now: Moment,
) -> Result<LatestSeen, WalkError> {
    let recorded = book.latest_after(seq)?.and_then(|at| at.parse().ok());
    let latest = recorded.map_or(now, |at: Moment| at.max(now));
    let stored = book.latest_seen(&run.machine, (&run.run, n), latest);
    Ok(stored.map_or(LatestSeen::NotStored, LatestSeen::Stored))
}
