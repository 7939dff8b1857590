//! How often a person walked a procedure to its end lately. Who did it often needs fewer words.

use crate::book::Book;
use crate::interlock::event::Outcome;
use crate::interlock::{Event, State};
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use crate::walk::store::log;

/// So many finished walks make a person practised.
const WALKS: usize = 3;

/// A walk that ended longer ago counts no more, in days.
const DAYS: i64 = 90;

/// So many of the latest runs are read: the start of a walk must not wait for a book of years.
const LATEST: usize = 60;

const DAY_MS: i64 = 24 * 60 * 60 * 1000;

/// Whether the operator of a run is practised in its procedure: three of the latest walks of it are theirs, complete and
/// ended within 90 days. A rehearsal does not count. A walk with an answer from a file counts only for walks from files.
pub(crate) fn is_practised(book: &Book, state: &State, now: Moment) -> Result<bool, WalkError> {
    let mut ended = book.runs()?;
    ended.retain(|run| !run.open);
    ended.sort_by(|a, b| b.last_at.cmp(&a.last_at));
    let recent = |at: &String| {
        let at: Option<Moment> = at.parse().ok();
        at.is_some_and(|at| now.since(at).is_none_or(|ms| ms <= DAYS * DAY_MS))
    };
    let mut walks = 0;
    for run in ended.iter().take_while(|r| recent(&r.last_at)).take(LATEST) {
        let events = book
            .entries(&run.run)?
            .iter()
            .map(|entry| Ok(log::event(entry)?.event))
            .collect::<Result<Vec<Event>, WalkError>>()?;
        walks += usize::from(counts(&events, state));
        if walks == WALKS {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Whether these events are a finished walk of the operator of `state` through the same procedure.
fn counts(events: &[Event], state: &State) -> bool {
    let same = matches!(events.first(), Some(Event::Began(begun))
        if begun.procedure_id == state.begun.procedure_id && !begun.rehearsal);
    let theirs = matches!(events.last(), Some(Event::Ended { outcome: Outcome::Complete, by, .. })
        if *by == state.operator);
    same && theirs && (state.from_file || !events.iter().any(Event::is_from_file))
}
