//! Whether a run's entries still are the run: they load, they fold, and each says the same inside as outside.
//!
//! The book never reads an entry's body and the fold never validates; this is where both are held together. What a run
//! *ought* to have done is no part of it: that was decided when it was recorded. Only what clears a start is looked for
//! again, its sign-offs and its release: a record without them would pass for one of a cut that nobody cleared.

use crate::book::{Book, Entry};
use crate::interlock::answer::Origin;
use crate::interlock::signing::{Rules, SignFault};
use crate::interlock::{Event, State};
use crate::people::People;
use crate::walk::error::WalkError;
use crate::walk::store::log;
use crate::walk::store::people_list;
use crate::walk::store::standing::NamedRuns;

/// The version since which sign-offs cover the list of people and the role of a hold point binds.
const LIST_SINCE: u32 = 5;

/// Replays a run, and checks every sign-off and every start in it.
///
/// # Errors
/// [`WalkError::Newer`] where a newer skimgate wrote it, [`WalkError::Event`] with the first entry that does not fit,
/// [`WalkError::Signature`] with the first sign-off that does not hold, [`WalkError::Start`] with the first start that lacks
/// its sign-offs or its release, and those of [`log::load`].
pub fn replay(book: &Book, run: &str) -> Result<(), WalkError> {
    let mut version = 0;
    for entry in book.entries(run)? {
        // A version of this program that writes older entries cannot load newer ones, so none can follow them.
        if entry.version < version {
            return Err(WalkError::Event {
                run: run.to_owned(),
                n: entry.n,
                reason: format!(
                    "it is of version {}, after an entry of version {version}",
                    entry.version
                ),
            });
        }
        version = entry.version;
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
    signatures(book, run)
}

/// Checks every sign-off, taking over and start against the state it was given on and the people of then.
fn signatures(book: &Book, run: &str) -> Result<(), WalkError> {
    let history = people_list::history(book)?;
    let nobody = People::default();
    let mut named = NamedRuns::of(book);
    let entries = book.entries(run)?;
    log::replay(book, run, |n, state, event| {
        let entry = entries.get(usize::try_from(n).unwrap_or_default().saturating_sub(1));
        let (seq, version) = entry.map_or((0, LIST_SINCE), |e| (e.seq, e.version));
        let now = entry
            .and_then(|e| e.at.parse().ok())
            .unwrap_or(state.latest);
        let rules = if version < LIST_SINCE {
            Rules::Older
        } else {
            Rules::Now
        };
        if let Some(why) = entry.and_then(|entry| released(state, event, entry)) {
            let run = run.to_owned();
            return Err(WalkError::Release { run, n, why });
        }
        if let Event::Answered {
            at,
            answer,
            seen: Some(seen),
            ..
        } = event
            && let Some(why) = named.fault(state, (at, answer, seen), (seq, now))?
        {
            let run = run.to_owned();
            return Err(WalkError::Standing { run, n, why });
        }
        let people = history.iter().rev().find(|(of, _)| *of < seq);
        let people = people.map_or(&nobody, |(_, people)| people);
        let started = match event {
            Event::CutStarted { at, by, .. } => {
                state.check_started(at, by, state.release.as_ref(), now)
            }
            Event::PracticeStarted { at, by, .. } => {
                state.check_started(at, by, state.practice.as_ref(), now)
            }
            Event::CutAssumed { at, .. } => state.check_signed_for(at, now),
            Event::CutEnded { at, .. } => state.check_ended(at),
            _ => Ok(()),
        };
        started.map_err(|fault| WalkError::Start {
            run: run.to_owned(),
            n,
            fault,
        })?;
        let signed = match event {
            Event::Answered { at, answer, .. } => state.check_recorded(at, answer, people, rules),
            Event::BackInService {
                reason,
                by,
                proof,
                list,
                ..
            } => state.check_put_back((by, reason), proof.as_ref(), *list, people),
            Event::TakenOver {
                by, proof, list, ..
            } => match list {
                Some(list) if *list != people.digest() => Err(SignFault::OtherList),
                None if rules == Rules::Now => Err(SignFault::NoList),
                _ => state.check_taken_over(by, proof, *list, people),
            },
            _ => Ok(()),
        };
        signed.map_err(|fault| WalkError::Signature {
            run: run.to_owned(),
            n,
            fault,
        })
    })?;
    Ok(())
}

/// The version of events from which on nothing is released once an answer came from a file.
const NOT_FROM_FILE: u32 = 5;

/// Why what is recorded as a release or a start cannot be one.
fn released(state: &State, event: &Event, entry: &Entry) -> Option<&'static str> {
    let from_file = state.from_file && entry.version >= NOT_FROM_FILE;
    match event {
        Event::Released { .. } | Event::CutStarted { .. } if from_file => {
            Some("an answer of the run came from a file")
        }
        Event::Released { at, until, .. } => {
            let from = entry.at.parse().ok();
            let longest = from.and_then(|from| state.longest_release(at, from));
            longest
                .is_none_or(|longest| *until > longest)
                .then_some("it is good for longer than its step allows")
        }
        Event::CutAssumed { .. } if state.origin != Origin::AnswersFile => {
            Some("a cut is assumed although the answers came from a terminal")
        }
        _ => None,
    }
}
