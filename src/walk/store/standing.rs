//! Answers of earlier runs that may stand: read from the book for a run, and checked where the record names one.

use super::log::{self, Loaded};
use crate::book::{Book, BookError};
use crate::interlock::answer_status::milliseconds;
use crate::interlock::event::TimedEvent;
use crate::interlock::standing::{EarlierAnswer, EarlierRun, SeenEarlier, collect};
use crate::interlock::{Answer, Instance, State};
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use std::collections::BTreeMap;

/// By how much the time of an entry may be before that of the entry before it: two terminals write one book, and one may
/// have waited for the other.
const OUT_OF_STEP_MS: i64 = 60_000;

/// What earlier runs answered, as far as it may stand in a run.
#[derive(Debug)]
pub(crate) struct Earlier {
    /// The answers.
    pub(crate) answers: Vec<EarlierAnswer>,
    /// The number of the last entry of others when this was read.
    pub(crate) as_of: u64,
}

/// Reads what earlier runs answered to the steps of this run whose answers may stand.
///
/// # Errors
/// Disk errors, and those of [`log::load`] for a run that cannot be read.
pub(crate) fn read(book: &Book, state: &State, now: Moment) -> Result<Earlier, WalkError> {
    let run = &state.begun.run;
    let as_of = book.last_of_others(run)?;
    let rules = state.procedure.steps().filter_map(|s| s.stands.as_ref());
    let longest = rules.map(|rule| milliseconds(rule.time)).max();
    let longest = longest.and_then(|ms| i64::try_from(ms).ok());
    let none = Earlier {
        answers: Vec::new(),
        as_of,
    };
    let since = longest.and_then(|ms| now.plus_ms(ms.checked_neg()?));
    let Some(since) = since else {
        return Ok(none);
    };
    let mut runs = Vec::new();
    for summary in book.runs_since(&since.to_string())? {
        if summary.run != *run {
            runs.push(numbered(book, &summary.run)?);
        }
    }
    let first = runs.iter().filter_map(|(_, events)| events.first());
    let Some(first) = first.map(|(number, _)| *number).min() else {
        return Ok(none);
    };
    let set_back = last_set_back(&book.times_from(first)?, now);
    let runs: Vec<EarlierRun> = runs
        .iter()
        .map(|(loaded, events)| EarlierRun {
            state: &loaded.state,
            events,
        })
        .collect();
    Ok(Earlier {
        answers: collect(state, &runs, &|number| set_back > number),
        as_of,
    })
}

/// A run with the numbers of its entries in the book.
type Numbered = (Loaded, Vec<(u64, TimedEvent)>);

fn numbered(book: &Book, run: &str) -> Result<Numbered, WalkError> {
    let loaded = log::load(book, run)?;
    let entries = book.entries(run)?;
    let numbers = entries.iter().map(|entry| entry.seq);
    let events = numbers.zip(loaded.events.iter().cloned()).collect();
    Ok((loaded, events))
}

/// The number of the last entry that shows a clock set back: its time is before that of the entry before it, or after now.
/// 0 for none.
fn last_set_back(times: &[(u64, String)], now: Moment) -> u64 {
    let later = |at: Moment, than: Moment| at.since(than).is_some_and(|ms| ms > OUT_OF_STEP_MS);
    let mut before: Option<Moment> = None;
    let mut last = 0;
    for (number, text) in times {
        let at = text.parse::<Moment>().ok();
        let sound = at.is_some_and(|at| !later(at, now) && !before.is_some_and(|b| later(b, at)));
        if !sound {
            last = *number;
        }
        before = at;
    }
    last
}

/// Checks the answers of earlier runs that a run's record names.
pub(crate) struct NamedRuns<'a> {
    book: &'a Book,
    /// The runs read so far; `None` for one that is not in the book.
    read: BTreeMap<String, Option<Numbered>>,
}

impl<'a> NamedRuns<'a> {
    /// Checks against the runs of this book.
    pub(crate) fn of(book: &'a Book) -> Self {
        Self {
            book,
            read: BTreeMap::new(),
        }
    }

    fn run(&mut self, name: &str) -> Result<Option<&Numbered>, WalkError> {
        if !self.read.contains_key(name) {
            let found = match numbered(self.book, name) {
                Ok(found) => Some(found),
                Err(WalkError::Book(BookError::NoSuchRun { .. })) => None,
                Err(error) => return Err(error),
            };
            self.read.insert(name.to_owned(), found);
        }
        Ok(self.read.get(name).and_then(Option::as_ref))
    }

    /// Why the answer recorded as entry `number` of the book at `now`, in a run with this state before it, was not seen in
    /// the run that it names, or could not stand; `None` where all is right. Stops of other runs are not looked at again.
    ///
    /// # Errors
    /// Those of reading the named run.
    pub(crate) fn fault(
        &mut self,
        state: &State,
        (at, answer, seen): (&Instance, &Answer, &SeenEarlier),
        (number, now): (u64, Moment),
    ) -> Result<Option<String>, WalkError> {
        let Some((loaded, events)) = self.run(&seen.run)? else {
            return Ok(Some(format!("run {} is not in the book", seen.run)));
        };
        if loaded.seq >= number {
            return Ok(Some(format!("run {} ended after it", seen.run)));
        }
        let earlier = EarlierRun {
            state: &loaded.state,
            events,
        };
        let found = collect(state, &[earlier], &|_| false);
        let found = found.into_iter().find(|e| e.step == at.step);
        let Some(found) = found.filter(|e| e.answer == *answer && e.seen == *seen) else {
            let text = format!(
                "run {} does not say that {} answered so then",
                seen.run, seen.by
            );
            return Ok(Some(text));
        };
        Ok(match state.could_stand(at, &found, now) {
            Ok(open) => open
                .first()
                .map(|thing| format!("the {thing} was not chosen yet")),
            Err(why) => Some(why.words(&state.show())),
        })
    }
}
