//! Cycle start: the release, the start, the wait beside the machine, and how it ended.

use super::error::WalkError;
use super::listen::{Heard, stop_word};
use super::pages;
use super::released;
use super::roster;
use super::session::{Flow, Session};
use super::stopping::STOP_IT;
use super::waiting::duration;
use crate::clock;
use crate::desk::{Part, Taken, Watch, Watched};
use crate::interlock::gate::{self, Asks, Cleared, Practised};
use crate::interlock::{Cause, Command, CutEnd, Event, Instance, Refusal, Standing};
use crate::procedure::formula::Formula;
use crate::report::page::{Choice, Page, Tone};
use std::sync::Arc;

/// What the operator types once cycle start is pressed.
const STARTED: &str = "started";

/// What to do while a start is not recorded.
const NOT_TAKEN: &str =
    "If the machine is running, stop it at the machine: this start is not taken.";

impl Session<'_> {
    /// Releases cycle start, and waits until the operator has pressed it.
    pub(super) fn cut(
        &mut self,
        at: &Instance,
        expected: Option<&Formula>,
    ) -> Result<Flow, WalkError> {
        loop {
            if self.program_fell()? || self.signature_fell()? {
                return Ok(Flow::Next);
            }
            if self.reads_file() {
                return self.assume_cut(at, expected);
            }
            if let Err(refusal) = self.release()? {
                return self.held(at, &refusal);
            }
            let said = match self.listen(at, STARTED, &Part::Started)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            if !said.eq_ignore_ascii_case(STARTED) {
                let why = format!(
                    "type `{STARTED}` once cycle start is pressed, or a word such as stop or leave"
                );
                self.refuse(at, &said, &why)?;
                continue;
            }
            match self.insist(Some(NOT_TAKEN), Self::start)? {
                Ok(_) => return self.watch_cut(at, expected),
                Err(refusal) => {
                    self.refuse(at, &said, &refusal.words(&self.show()))?;
                    let text = "If the machine is running, stop it at the machine: this start was not released.";
                    self.desk.show(&Page::new().toned(Tone::Stop, text))?;
                }
            }
        }
    }

    /// Records the start. Everything that it depends on is looked at in the same try, however long ago it was released.
    fn start(&mut self) -> Result<Result<Vec<Event>, Refusal>, WalkError> {
        let program = self.seen();
        if self.state.begun.rehearsal {
            return self.carry_once(&Command::PracticeStart { program });
        }
        if let Err(error) = released::check(&self.book, &self.state.begun.run) {
            // Where it may pass, that is said with the question.
            if !matches!(&error, WalkError::Book(error) if error.may_pass()) {
                self.desk.show(&Page::new().toned(Tone::Stop, NOT_TAKEN))?;
            }
            return Err(error);
        }
        let people = Arc::new(roster::load(&self.book)?);
        self.carry_once(&Command::Start { program, people })
    }

    /// Goes on with answers from a file: nothing is released, nobody presses cycle start, and the cut is assumed.
    fn assume_cut(&mut self, at: &Instance, expected: Option<&Formula>) -> Result<Flow, WalkError> {
        let command = Command::AssumeCut {
            program: self.seen(),
            people: self.people()?,
        };
        if let Err(refusal) = self.carry(&command)? {
            return self.held(at, &refusal);
        }
        let text = "HELD: answers come from a file, so cycle start is not released. The cut is assumed, to go on with the walk.";
        self.desk.show(&Page::new().toned(Tone::Stop, text))?;
        self.watch_cut(at, expected)
    }

    /// Asks for the release, of the machine or of the practice mill, and shows it. The gate looks once more; only the
    /// permission it makes can be shown as a release.
    fn release(&mut self) -> Result<Result<(), Refusal>, WalkError> {
        self.insist(None, Self::release_once)
    }

    /// One try: what was checked before a failure is checked again.
    fn release_once(&mut self) -> Result<Result<(), Refusal>, WalkError> {
        let program = self.seen();
        if self.state.begun.rehearsal {
            if let Err(refusal) = self.carry_once(&Command::PracticeRelease { program })? {
                return Ok(Err(refusal));
            }
            return match gate::practice_start(&self.state, self.now(), program) {
                Ok(permitted) => {
                    self.desk.practise(&permitted);
                    self.desk.show(&self.practice_released(&permitted))?;
                    Ok(Ok(()))
                }
                Err(holds) => Ok(Err(Refusal::Held(holds))),
            };
        }
        released::check(&self.book, &self.state.begun.run)?;
        let people = Arc::new(roster::load(&self.book)?);
        if let Err(refusal) = self.carry_once(&Command::Release {
            program,
            people: Arc::clone(&people),
        })? {
            return Ok(Err(refusal));
        }
        match gate::start(&self.state, self.now(), program, &people, Asks::Holder) {
            Ok(cleared) => {
                self.desk.show(&self.released(&cleared))?;
                Ok(Ok(()))
            }
            Err(holds) => Ok(Err(Refusal::Held(holds))),
        }
    }

    /// What the release of the practice mill looks like: never like the real one.
    fn practice_released(&self, permitted: &Practised) -> Page {
        let title = self
            .state
            .step(permitted.at())
            .map_or("", |s| s.title.as_str());
        Page::new()
            .toned(
                Tone::Look,
                format!("PRACTICE MILL ONLY: {title} may be tried, once, by {}. No real machine is cleared.", self.state.operator),
            )
            .text("Everything asked is recorded and nothing known here holds the start. Look round once more yourself.")
            .next(format!(
                "Press cycle start on the practice mill: `m start`. Then type `{STARTED}`."
            ))
    }

    /// What a release looks like. Takes the permission itself, so that nothing else can print it.
    fn released(&self, cleared: &Cleared) -> Page {
        let until = self
            .state
            .release
            .as_ref()
            .map_or(String::new(), |r| clock::local_time(r.until));
        let title = self
            .state
            .step(cleared.at())
            .map_or("", |s| s.title.as_str());
        // The step's own line was shown while it was held still.
        Page::new()
            .status(pages::status(&self.state, self.now()))
            .toned(
                Tone::Good,
                format!(
                    "RELEASED: {title}, to {}, once, until {until}.",
                    self.state.operator
                ),
            )
            .text(
                "Everything asked is recorded and nothing known here holds the start. skimgate cannot see or stop the machine: look once more yourself. You decide.",
            )
            .next(format!(
                "Press cycle start on the machine, then type `{STARTED}`. Stay with it, hand on feed hold."
            ))
    }

    fn held(&mut self, at: &Instance, refusal: &Refusal) -> Result<Flow, WalkError> {
        let why = refusal.words(&self.show());
        self.desk.show(&Page::new().toned(Tone::Stop, why))?;
        // Where a question would clear it, that question is next; else only the person can.
        let next = self.state.next(self.now());
        if !matches!(&next, crate::interlock::standing::Next::Ask(of, _) if of == at) {
            return Ok(Flow::Next);
        }
        match self.listen(at, "held", &Part::Other("held".to_owned()))? {
            Heard::Flow(flow) => Ok(flow),
            Heard::Said(_) => Ok(Flow::Next),
        }
    }

    /// The wait beside the machine.
    fn watch_cut(&mut self, at: &Instance, expected: Option<&Formula>) -> Result<Flow, WalkError> {
        let expected = expected.and_then(|f| self.state.env(at).quantity(f).ok());
        let title = pages::pass_name(&self.state, at).unwrap_or_else(|| "cut".to_owned());
        let text = "Cutting. Press Enter when it has ended, or type `stop` if you stopped it.";
        self.desk.show(&Page::new().next(text))?;
        let watch = Watch {
            title: &title,
            expected: self.reckoned().or_else(|| expected.map(duration)),
            limit: None,
        };
        match self.desk.watch(&watch)? {
            Watched::Enter { said, .. } => match stop_word(&said) {
                Some(words) => self.cut_stopped(at, words),
                None => self.end_cut(at),
            },
            Watched::Reached => self.end_cut(at),
            Watched::Interrupted => self.leave("Ctrl-C during a cut"),
            Watched::Closed => self.leave("the terminal went away during a cut"),
        }
    }

    /// Asks how the cut under way ended.
    pub(super) fn end_cut(&mut self, at: &Instance) -> Result<Flow, WalkError> {
        let choices = CutEnd::ALL
            .iter()
            .enumerate()
            .map(|(i, end)| Choice::new(i + 1, end.word(), end.meaning()));
        let page = Page::new().next("How did the cut end?").options(choices);
        self.desk.show(&page)?;
        loop {
            let said = match self.listen(at, "how it ended", &Part::Ended)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            let Some(how) = CutEnd::read(&said) else {
                let words = CutEnd::ALL.map(CutEnd::word).join(", ");
                self.refuse(
                    at,
                    &said,
                    &format!("`{said}` is none of the answers: {words}"),
                )?;
                continue;
            };
            if how == CutEnd::Stopped {
                return self.cut_stopped(at, "");
            }
            let odd = self.odd_time(at, how);
            let beside = self.beside_reckoned(how);
            let events = self.must_carry(&Command::EndCut {
                how,
                cause: Cause::NotAsked,
                said: String::new(),
            })?;
            self.desk.taken(Taken::Otherwise)?;
            let page = crate::report::words::recorded(&events, &self.state);
            self.desk.show(&page)?;
            if let Some(beside) = beside {
                self.desk.show(&Page::new().toned(Tone::Quiet, beside))?;
            }
            return match odd {
                Some(odd) => self.explain(at, &odd),
                None => Ok(Flow::Next),
            };
        }
    }

    /// Records that the cut was stopped, then asks why.
    fn cut_stopped(&mut self, at: &Instance, words: &str) -> Result<Flow, WalkError> {
        let end = Command::EndCut {
            how: CutEnd::Stopped,
            cause: Cause::named(words.trim()).unwrap_or(Cause::NotSaid),
            said: words.to_owned(),
        };
        let events = self.must_carry_with(Some(STOP_IT), &end)?;
        self.desk.taken(Taken::Otherwise)?;
        let page = crate::report::words::recorded(&events, &self.state);
        self.desk.show(&page)?;
        self.why_stopped(at).map(|left| left.unwrap_or(Flow::Next))
    }

    /// A cut that was under way when the run was left.
    pub(super) fn cut_under_way(&mut self, at: &Instance) -> Result<Flow, WalkError> {
        let Some(step) = self.state.step(at).cloned() else {
            return Err(WalkError::Fault(format!("there is no step {at}")));
        };
        self.show_place(at, &Standing::Open, &step)?;
        let since = self.state.cutting.as_ref().map(|c| c.since);
        let since = since.map_or(String::new(), |at| format!(", begun {}", clock::local(at)));
        let page = Page::new()
            .toned(
                Tone::Look,
                format!(
                    "A cut is under way as far as the record knows{since}: cycle start was pressed, and nobody has said how it ended."
                ),
            )
            .toned(
                Tone::Look,
                "Look at the machine. If it still runs, stay with it, hand on feed hold, and answer when it stands.",
            );
        self.desk.show(&page)?;
        self.left_meanwhile = true;
        let flow = self.end_cut(at);
        self.left_meanwhile = false;
        flow
    }
}
