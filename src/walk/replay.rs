//! Whether a run's entries still are the run: they load, they fold, and each says the same inside as outside.
//!
//! The book never reads an entry's body and the fold never validates; this is where both are held together. What a run
//! *ought* to have done is no part of it: that was decided when it was recorded.

use super::error::WalkError;
use super::log;
use crate::book::Book;
use crate::interlock::Event;

/// Replays a run.
///
/// # Errors
/// [`WalkError::Newer`] where a newer skimgate wrote it, [`WalkError::Event`] with the first entry that does not fit,
/// and those of [`log::load`].
pub fn replay(book: &Book, run: &str) -> Result<(), WalkError> {
    for entry in book.entries(run)? {
        let stamped = log::event(&entry)?;
        let differs = |what: &str| WalkError::Event {
            run: run.to_owned(),
            n: entry.n,
            reason: format!("{what} of the entry is not the one in its content"),
        };
        if entry.kind != stamped.event.kind() {
            return Err(differs("the kind"));
        }
        if entry.ends != matches!(stamped.event, Event::Ended { .. }) {
            return Err(differs("the end"));
        }
        let (machine, name) = match &stamped.event {
            Event::Began(begun) => (Some(&begun.machine), Some(&begun.run)),
            _ => (None, None),
        };
        if entry.opens.as_ref() != machine {
            return Err(differs("the machine"));
        }
        if name.is_some_and(|name| *name != entry.run) {
            return Err(differs("the run"));
        }
    }
    log::load(book, run)?;
    Ok(())
}
