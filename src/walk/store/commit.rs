//! The one way in which a run goes on: a command is decided, its events are appended, and only then folded in.
//!
//! What a command writes into other ledgers (a plate's account, a machine's record) is in the same transaction. Where the book
//! cannot be written for a while, the person is asked whether to try again; each try decides anew.

use crate::book::{BookError, Draft, Entry, ToLedger};
use crate::fingerprint::Fingerprint;
use crate::interlock::{Command, CutEnd, Event, Refusal, decide};
use crate::people::People;
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use crate::walk::session::Session;
use crate::walk::store::{accounts, log, machines, other_runs, people_list, released, retry};
use std::sync::Arc;

/// What to do first, whatever is recorded.
pub(crate) const STOP_IT: &str =
    "Stop the machine at the machine: feed hold, or the emergency stop. skimgate cannot stop it.";

/// What to do while a start is not recorded.
const NOT_TAKEN: &str =
    "If the machine is running, stop it at the machine: this start is not taken.";

/// The result of a command.
#[derive(Debug)]
#[must_use]
pub(crate) enum Committed {
    /// These events are stored and folded in.
    Stored(Vec<Event>),
    /// Nothing is stored.
    Refused(Refusal),
}

/// Entries that go into another ledger with the events of a run.
pub(crate) struct LedgerLines {
    /// The ledger.
    pub(crate) ledger: String,
    /// Its last entry that was read; 0 for none.
    pub(crate) after_n: u32,
    /// The entries; none where the ledger only must not have gone on.
    pub(crate) drafts: Vec<Draft>,
}

/// What must not have changed in the book since a command was decided.
#[derive(Default)]
pub(crate) struct Unchanged {
    /// The last entry of the list of people.
    people: Option<u32>,
    /// The digest of the book's last entry.
    last: Option<Fingerprint>,
}

impl Session<'_> {
    /// Decides a command, appends its events and folds them in. Where the list of people counts, the append is refused if it
    /// went on since it was read, and where other runs count, if the book did; then all is decided anew.
    ///
    /// # Errors
    /// Those of the book that will not pass, or that the person did not wait for.
    pub(crate) fn commit(&mut self, command: &Command) -> Result<Committed, WalkError> {
        let warning = at_the_machine(command);
        let mut command = command.clone();
        let mut again = false;
        let mut attempt = |session: &mut Self| {
            if std::mem::replace(&mut again, true) {
                // It may have been long ago that these were read.
                command.set_program(session.seen());
                if command.people().is_some() {
                    command.set_people(Arc::new(people_list::load(&session.book)?));
                }
            }
            if let Command::Release { .. } | Command::Start { .. } = command {
                released::check(&session.book, &session.state.begun.run)?;
            }
            let others = other_runs::put_into(&mut command, &session.book, &session.state)?;
            let last = session.put_earlier_into(&mut command)?.or(others);
            let people = command.people().map(People::n);
            let now = session.now();
            match decide(&session.state, now, &command) {
                Ok(events) => session
                    .append(&events, now, Unchanged { people, last })
                    .map(|()| Committed::Stored(events)),
                Err(refusal) => Ok(Committed::Refused(refusal)),
            }
        };
        loop {
            match attempt(self) {
                Ok(done) => return Ok(done),
                Err(WalkError::Book(BookError::LedgerOvertaken { .. } | BookError::WentOn)) => {}
                Err(error) => retry::again(self.prompter, error, warning)?,
            }
        }
    }

    /// Commits a command that is always allowed here.
    pub(crate) fn must_commit(&mut self, command: &Command) -> Result<Vec<Event>, WalkError> {
        match self.commit(command)? {
            Committed::Stored(events) => Ok(events),
            Committed::Refused(refusal) => {
                let words = refusal.words(&self.show());
                Err(WalkError::Fault(format!("{words} (at {command:?})")))
            }
        }
    }

    /// Appends events, with what they write into other ledgers; they are folded in once they are on disk.
    pub(crate) fn append(
        &mut self,
        events: &[Event],
        now: Moment,
        unchanged: Unchanged,
    ) -> Result<(), WalkError> {
        if events.is_empty() {
            return Ok(());
        }
        let run = &self.state.begun.run;
        let mut append = || -> Result<Vec<Entry>, WalkError> {
            let drafts = log::drafts(events, now)?;
            let machine = machines::lines(&self.book, &self.state, events, now)?;
            let account = accounts::lines(&self.book, &self.state, events, now)?;
            let people = unchanged.people.map(|after_n| LedgerLines {
                ledger: people_list::LEDGER.to_owned(),
                after_n,
                drafts: Vec::new(),
            });
            let lines: Vec<LedgerLines> =
                [machine, account, people].into_iter().flatten().collect();
            let also: Vec<ToLedger> = lines
                .iter()
                .map(|lines| ToLedger {
                    ledger: &lines.ledger,
                    after_n: lines.after_n,
                    drafts: &lines.drafts,
                })
                .collect();
            let ends = events.iter().any(|e| matches!(e, Event::Ended { .. }));
            Ok(match unchanged.last {
                Some(last) if also.is_empty() => {
                    self.book.append_to_last(run, self.n, &drafts, ends, last)?
                }
                _ => self
                    .book
                    .append_with_ledgers(run, self.n, &drafts, ends, &also)?,
            })
        };
        let entries = match append() {
            Ok(entries) => entries,
            Err(error) => return Err(self.not_appended(error)),
        };
        if std::mem::take(&mut self.withheld) {
            self.claim.confirm();
        }
        let own = entries.iter().rev().find(|e| e.run == *run);
        self.n = own.map_or(self.n, |e| e.n);
        for event in events {
            self.state.apply(now, event);
        }
        Ok(())
    }

    /// What could not be stored may have ended a release that is on record: it counts no more until something is stored.
    fn not_appended(&mut self, error: WalkError) -> WalkError {
        if self.state.release.is_some() && !self.withheld {
            self.withheld = self.claim.withhold().is_ok();
        }
        if !matches!(error, WalkError::Book(BookError::Overtaken { .. })) {
            return error;
        }
        let Ok(loaded) = log::load(&self.book, &self.state.begun.run) else {
            return error;
        };
        let seen = usize::try_from(self.n).unwrap_or(usize::MAX);
        let by = loaded
            .events
            .iter()
            .skip(seen)
            .find_map(|s| match &s.event {
                Event::TakenOver { by, .. } => Some(by.clone()),
                _ => None,
            });
        match by {
            Some(by) => WalkError::TakenOver {
                run: self.state.begun.run.clone(),
                by,
            },
            None => error,
        }
    }
}

/// What the person must do at the machine while a command cannot be stored.
fn at_the_machine(command: &Command) -> Option<&'static str> {
    match command {
        Command::Start { .. } | Command::PracticeStart { .. } => Some(NOT_TAKEN),
        Command::Stop { .. }
        | Command::EndCut {
            how: CutEnd::Stopped,
            ..
        } => Some(STOP_IT),
        _ => None,
    }
}
