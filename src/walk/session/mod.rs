//! A run in hand: its state, its place in the book, and the person at the desk.

pub(crate) mod answer_step;
pub(crate) mod begin;
pub(crate) mod cut_time;
pub(crate) mod drive;
pub(crate) mod elsewhere;
pub(crate) mod keys;
pub(crate) mod kinds;
pub(crate) mod mapping;
pub(crate) mod pages;
pub(crate) mod prompt_commands;
pub(crate) mod questions;
pub(crate) mod refused;
pub(crate) mod resume;
pub(crate) mod service;
mod stopping;
pub(crate) mod takeover;
pub(crate) mod thickness;

use crate::book::{Book, BookError, Claim, Draft, Entry, ToLedger};
use crate::clock::Clock;
use crate::fingerprint::Fingerprint;
use crate::interlock::answer::Origin;
use crate::interlock::{Command, Event, Instance, Refusal, State, decide};
use crate::people::People;
use crate::procedure::shop::Item;
use crate::quantity::format::QuantityFormat;
use crate::quantity::moment::Moment;
use crate::report::page::Page;
use crate::stock::{StockEntry, ledger_of};
use crate::terminal::prompt::{Completions, Prompter};
use crate::walk::error::WalkError;
use crate::walk::prompts::keyring::{self, UnlockOutcome};
use crate::walk::session::mapping::Drawn;
use crate::walk::store::accounts;
use crate::walk::store::log;
use crate::walk::store::people_list;
use std::path::PathBuf;
use std::sync::Arc;

/// A run in hand. While it lives, no other terminal can take the machine's run.
pub(crate) struct Session<'a> {
    /// What the run adds up to.
    pub state: State,
    /// Who is asked.
    pub prompter: &'a mut dyn Prompter,
    pub(crate) book: Book,
    pub(crate) clock: &'a dyn Clock,
    pub(crate) n: u32,
    /// The folder that relative program paths count from.
    pub(crate) folder: PathBuf,
    /// The question gone back to, if one was.
    pub(crate) back_to: Option<Instance>,
    /// The phase whose heading was shown last.
    pub(crate) heading: Option<(String, Option<u32>)>,
    /// What can be answered at the question at hand, to be shown again after help.
    pub(crate) asked: Page,
    /// What Tab completes at the question at hand, beside the commands of every prompt.
    pub(crate) completions: Completions,
    /// Whether its answer may be recalled later.
    pub(crate) may_be_recalled: bool,
    /// The map drawn last.
    pub(crate) drawn: Option<Drawn>,
    /// Cautions shown already in this phase.
    pub(crate) cautioned: Vec<String>,
    /// The book with the list of people, in a rehearsal where any are registered: its own book has none.
    pub(crate) shop_book: Option<Book>,
    /// Whether the cut under way went on while the run was left, so that its time says nothing.
    pub(crate) left_meanwhile: bool,
    claim: Claim,
    /// Whether the claim is withheld: something could not be stored while a release stood.
    withheld: bool,
}

/// What became of a command.
#[derive(Debug)]
#[must_use]
pub(crate) enum Carried {
    /// These events are stored and folded in.
    Stored(Vec<Event>),
    /// Nothing is stored.
    Refused(Refusal),
}

/// How a run was left.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Left {
    /// With Ctrl-C, the end of input, or the word for leaving: saved, to be resumed.
    Saved,
    /// With the stop word.
    Stopped,
    /// It is over: complete.
    Complete,
    /// It is over: given up.
    Abandoned,
}

impl<'a> Session<'a> {
    /// A run in hand.
    pub(crate) fn new(
        state: State,
        n: u32,
        book: Book,
        claim: Claim,
        clock: &'a dyn Clock,
        prompter: &'a mut dyn Prompter,
        folder: PathBuf,
    ) -> Self {
        Self {
            state,
            prompter,
            book,
            clock,
            n,
            folder,
            back_to: None,
            heading: None,
            asked: Page::new(),
            completions: Completions::default(),
            may_be_recalled: true,
            drawn: None,
            cautioned: Vec::new(),
            shop_book: None,
            left_meanwhile: false,
            claim,
            withheld: false,
        }
    }

    /// Now.
    pub(crate) fn now(&self) -> Moment {
        self.clock.now()
    }

    /// How quantities are shown.
    pub(crate) fn show(&self) -> QuantityFormat {
        self.state.show()
    }

    /// Whether the answers come from a file now.
    pub(crate) fn reads_file(&self) -> bool {
        self.state.origin == Origin::AnswersFile
    }

    /// The people as they are now.
    pub(crate) fn people(&mut self) -> Result<Arc<People>, WalkError> {
        self.insist(None, |session| {
            Ok(Arc::new(people_list::load(&session.book)?))
        })
    }

    /// Carries a command out: decided, appended, and only then folded in.
    pub(crate) fn carry(&mut self, command: &Command) -> Result<Carried, WalkError> {
        self.carry_with(None, command)
    }

    /// The same with what to do at the machine while it cannot be stored.
    fn carry_with(
        &mut self,
        warning: Option<&str>,
        command: &Command,
    ) -> Result<Carried, WalkError> {
        let mut command = command.clone();
        let mut failed = false;
        self.insist(warning, |session| {
            if failed {
                // It may have been long ago that these were looked at.
                command.set_program(session.seen());
                if command.people().is_some() {
                    command.set_people(Arc::new(people_list::load(&session.book)?));
                }
            }
            failed = true;
            session.carry_once(&command)
        })
    }

    /// Carries a command out, or fails where the book cannot be written now. Where people count, the append is refused if
    /// their list went on since it was looked at, and where other runs count, if the book did; then it is all decided anew.
    pub(crate) fn carry_once(&mut self, command: &Command) -> Result<Carried, WalkError> {
        let mut command = command.clone();
        loop {
            let last = self.book_before_others(&command)?;
            command = self.with_others(&command)?;
            let now = self.now();
            let events = match decide(&self.state, now, &command) {
                Ok(events) => events,
                Err(refusal) => return Ok(Carried::Refused(refusal)),
            };
            let looked_at = command.people().map(People::n);
            match self.append(&events, now, (looked_at, last)) {
                Ok(()) => return Ok(Carried::Stored(events)),
                Err(WalkError::Book(BookError::LedgerOvertaken { .. })) => {
                    command.set_people(Arc::new(people_list::load(&self.book)?));
                }
                Err(WalkError::Book(BookError::WentOn)) => {}
                Err(error) => return Err(error),
            }
        }
    }

    /// Opens the key of somebody on the list with the PIN they type.
    pub(crate) fn unlock(
        &mut self,
        people: &mut People,
        initials: &str,
    ) -> Result<UnlockOutcome, WalkError> {
        keyring::unlock(&mut self.book, people, self.prompter, self.clock, initials)
    }

    /// Carries out a command that is always allowed here.
    pub(crate) fn must_carry(&mut self, command: &Command) -> Result<Vec<Event>, WalkError> {
        self.must_carry_with(None, command)
    }

    /// The same with what to do at the machine while it cannot be stored.
    pub(crate) fn must_carry_with(
        &mut self,
        warning: Option<&str>,
        command: &Command,
    ) -> Result<Vec<Event>, WalkError> {
        let show = self.show();
        match self.carry_with(warning, command)? {
            Carried::Stored(events) => Ok(events),
            Carried::Refused(refusal) => {
                let words = refusal.words(&show);
                Err(WalkError::Fault(format!("{words} (at {command:?})")))
            }
        }
    }

    fn append(
        &mut self,
        events: &[Event],
        now: Moment,
        (people, last): (Option<u32>, Option<Fingerprint>),
    ) -> Result<(), WalkError> {
        if events.is_empty() {
            return Ok(());
        }
        let ends = events.iter().any(|e| matches!(e, Event::Ended { .. }));
        let drafts = log::drafts(events, now)?;
        let run = self.state.begun.run.clone();
        let of_machine = service::drafts(&self.state, events, now)?;
        let appended = match (accounts::lines(&self.state, events), people) {
            // The end of a cut never puts a machine out of service, so no events have both.
            (_, people) if !of_machine.is_empty() => {
                self.append_with_machine(&drafts, ends, &of_machine, people)
            }
            // What the account takes is the end of a cut, which nobody signs for.
            (Some((plate, lines)), _) => {
                self.append_with_account(&drafts, ends, &plate, lines, now)
            }
            (None, None) => match last {
                Some(last) => self.book.append_to_last(&run, self.n, &drafts, ends, last),
                None => self.book.append(&run, self.n, &drafts, ends),
            }
            .map_err(WalkError::from),
            // Nothing is added to the list: it only must not have gone on.
            (None, Some(after_n)) => {
                let also = ToLedger {
                    ledger: people_list::LEDGER,
                    after_n,
                    drafts: &[],
                };
                self.book
                    .append_with_ledger(&run, self.n, &drafts, ends, &also)
                    .map_err(WalkError::from)
            }
        };
        let entries = match appended {
            Ok(entries) => entries,
            Err(error) => return Err(self.not_appended(error)),
        };
        if std::mem::take(&mut self.withheld) {
            self.claim.confirm();
        }
        let own = entries.iter().rev().find(|e| e.run == run);
        self.n = own.map_or(self.n, |e| e.n);
        for event in events {
            self.state.apply(now, event);
        }
        Ok(())
    }

    /// What puts a machine out of service, or back, and its line in the machine's ledger, in one transaction.
    fn append_with_machine(
        &mut self,
        drafts: &[Draft],
        ends: bool,
        lines: &[Draft],
        people: Option<u32>,
    ) -> Result<Vec<Entry>, WalkError> {
        let machine = self.state.begun.machine.clone();
        let ledger = service::ledger_of(&machine);
        let (_, after_n) = service::read(&self.book, &machine)?;
        let mut also = vec![ToLedger {
            ledger: &ledger,
            after_n,
            drafts: lines,
        }];
        also.extend(people.map(|after_n| ToLedger {
            ledger: people_list::LEDGER,
            after_n,
            drafts: &[],
        }));
        let run = self.state.begun.run.clone();
        Ok(self
            .book
            .append_with_ledgers(&run, self.n, drafts, ends, &also)?)
    }

    /// What could not be stored may have ended a release that is on record: it counts no more until something is stored.
    fn not_appended(&mut self, error: WalkError) -> WalkError {
        if self.state.release.is_some() && !self.withheld {
            self.withheld = self.claim.withhold().is_ok();
        }
        self.taken_over(error)
    }

    /// Who took the run over, where that is why it went on elsewhere.
    fn taken_over(&self, error: WalkError) -> WalkError {
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

    /// A cut and its line in the plate's account, in one transaction. The account is read again where another terminal
    /// has written to it meanwhile.
    fn append_with_account(
        &mut self,
        drafts: &[Draft],
        ends: bool,
        plate: &Item,
        lines: Vec<StockEntry>,
        now: Moment,
    ) -> Result<Vec<Entry>, WalkError> {
        let run = self.state.begun.run.clone();
        let mut tries = 0;
        loop {
            let kept = accounts::stored_account(&self.book, &plate.id)?;
            let opening = accounts::basis(plate).filter(|_| kept.account.is_none());
            let opening = opening.map(StockEntry::Opened).into_iter();
            let lines: Vec<Draft> = opening
                .chain(lines.iter().cloned())
                .map(|line| accounts::draft(&line, now))
                .collect::<Result<_, _>>()?;
            let also = ToLedger {
                ledger: &ledger_of(&plate.id),
                after_n: kept.n,
                drafts: &lines,
            };
            let appended = self
                .book
                .append_with_ledger(&run, self.n, drafts, ends, &also);
            match appended {
                Err(BookError::LedgerOvertaken { .. }) if tries < 9 => tries += 1,
                other => return Ok(other?),
            }
        }
    }

    /// Records that something typed was not taken, shows why, and tells the desk.
    pub(crate) fn refuse(
        &mut self,
        at: &Instance,
        typed: &str,
        why: &str,
    ) -> Result<(), WalkError> {
        self.insist(None, |session| {
            let now = session.now();
            let lists_people = !people_list::load(&session.book)?.is_empty();
            let (typed, stored) = refused::stored(&session.state, at, typed, why, lists_people);
            let event = Event::Refused {
                at: at.clone(),
                typed,
                why: stored,
                by: session.state.operator.clone(),
                from: Some(session.state.origin),
            };
            session.append(&[event], now, (None, None))
        })?;
        let page = Page::new().toned(
            crate::report::page::Tone::Stop,
            format!("Not taken: {why}."),
        );
        self.prompter.show(&page)?;
        Ok(self.prompter.refused(why)?)
    }
}
