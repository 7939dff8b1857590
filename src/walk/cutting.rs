//! Cycle start: the release, the start, the wait beside the machine, and how it ended.

use super::error::WalkError;
use super::listen::{Heard, stop_word};
use super::session::{Flow, Session};
use super::waiting::duration;
use crate::clock;
use crate::desk::{Part, Watch, Watched};
use crate::interlock::gate::{self, Cleared, Practised};
use crate::interlock::{Command, Instance, Refusal, Standing};
use crate::procedure::Kind;
use crate::procedure::formula::Formula;
use crate::procedure::model::{EMERGENCY_STOP, FINISHED, STOPPED};
use crate::report::page::{Choice, Page, Tone};
use std::sync::Arc;
use std::time::Duration;

/// What the operator types once cycle start is pressed.
const STARTED: &str = "started";

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
            let program = self.seen();
            let start = if self.state.begun.rehearsal {
                Command::PracticeStart { program }
            } else {
                Command::Start {
                    program,
                    people: self.people()?,
                }
            };
            match self.carry(&start)? {
                Ok(_) => return self.watch_cut(at, expected),
                Err(refusal) => {
                    self.refuse(at, &said, &refusal.words(&self.show()))?;
                    let text = "If the machine is running, stop it at the machine: this start was not released.";
                    self.desk.show(&Page::new().toned(Tone::Stop, text))?;
                }
            }
        }
    }

    /// Asks for the release, of the machine or of the practice mill, and shows it. The gate looks once more; only the
    /// permission it makes can be shown as a release.
    fn release(&mut self) -> Result<Result<(), Refusal>, WalkError> {
        let program = self.seen();
        if self.state.begun.rehearsal {
            if let Err(refusal) = self.carry(&Command::PracticeRelease { program })? {
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
        let people = self.people()?;
        if let Err(refusal) = self.carry(&Command::Release {
            program,
            people: Arc::clone(&people),
        })? {
            return Ok(Err(refusal));
        }
        match gate::start(&self.state, self.now(), program, &people) {
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
        Page::new()
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
        let title = super::pages::pass_name(&self.state, at).unwrap_or_else(|| "cut".to_owned());
        let text = "Cutting. Press Enter when it has ended, or type `stop` if you stopped it.";
        self.desk.show(&Page::new().next(text))?;
        let watch = Watch {
            title: &title,
            expected: expected.map(duration).or_else(|| self.reckoned()),
            limit: None,
        };
        match self.desk.watch(&watch)? {
            Watched::Enter { said, .. } if stop_word(&said).is_some() => {
                self.end_cut(at, Some(STOPPED))
            }
            Watched::Enter { .. } | Watched::Reached => self.end_cut(at, None),
            Watched::Interrupted => self.leave("Ctrl-C during a cut"),
            Watched::Closed => self.leave("the terminal went away during a cut"),
        }
    }

    /// Asks how the cut under way ended.
    pub(super) fn end_cut(&mut self, at: &Instance, how: Option<&str>) -> Result<Flow, WalkError> {
        let ways = [
            (FINISHED, "it ran to its end"),
            (STOPPED, "held or stopped before its end"),
            (EMERGENCY_STOP, "the emergency stop was pressed"),
        ];
        if how.is_none() {
            let choices = ways
                .iter()
                .enumerate()
                .map(|(i, (w, d))| Choice::new(i + 1, *w, *d));
            let page = Page::new().next("How did the cut end?").options(choices);
            self.desk.show(&page)?;
        }
        let mut known = how.map(str::to_owned);
        loop {
            let said = match known.take() {
                Some(how) => how,
                None => match self.listen(at, "how it ended", &Part::Ended)? {
                    Heard::Said(said) => said,
                    Heard::Flow(flow) => return Ok(flow),
                },
            };
            let by_number = said
                .parse::<usize>()
                .ok()
                .and_then(|n| ways.get(n.checked_sub(1)?));
            let how = by_number.map_or_else(|| said.to_lowercase(), |(w, _)| (*w).to_owned());
            let odd = self.odd_time(at, &how);
            let beside = self.beside_reckoned(&how);
            match self.carry(&Command::EndCut { how })? {
                Ok(events) => {
                    self.desk.taken()?;
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
                Err(refusal) => self.refuse(at, &said, &refusal.words(&self.show()))?,
            }
        }
    }

    /// How long the program was reckoned to run when it was examined.
    fn reckoned(&self) -> Option<Duration> {
        let seconds = self.state.examined()?.seconds?;
        Some(Duration::from_secs(seconds.into()))
    }

    /// How long the cut took beside what its program was reckoned to run; nothing where nobody stood at the machine.
    fn beside_reckoned(&self, how: &str) -> Option<String> {
        let cutting = self.state.cutting.as_ref()?;
        if how != FINISHED || self.state.begun.answers_file.is_some() || self.left_meanwhile {
            return None;
        }
        let took = u64::try_from(self.now().since(cutting.since)?).ok()?;
        let minutes = crate::screen::minutes;
        Some(format!(
            "It took {}; the program was reckoned to run {}.",
            minutes(Duration::from_millis(took)),
            minutes(self.reckoned()?)
        ))
    }

    /// What is odd about the time that a cut took which is said to have finished: less than half of what was expected, or
    /// more than twice (common practice, no source). Nothing is, where the run was left meanwhile, where nothing was
    /// expected, and where nobody stood at the machine.
    fn odd_time(&self, at: &Instance, how: &str) -> Option<String> {
        let cutting = self.state.cutting.as_ref()?;
        if how != FINISHED || self.state.begun.answers_file.is_some() || self.left_meanwhile {
            return None;
        }
        let Kind::Cut { expected, .. } = &self.state.step(at)?.kind else {
            return None;
        };
        let expected = duration(self.state.env(at).quantity(expected.as_ref()?).ok()?);
        // Of a shorter cut the person's own delay at the key is the larger part.
        if expected < Duration::from_secs(60) {
            return None;
        }
        let took = self.now().since(cutting.since)?;
        let took = Duration::from_millis(u64::try_from(took).ok()?);
        let which = if took * 2 < expected {
            "much sooner"
        } else if took > expected * 2 {
            "much later"
        } else {
            return None;
        };
        let minutes = crate::screen::minutes;
        Some(format!(
            "It ended {which} than expected: after {}, and {} were reckoned.",
            minutes(took),
            minutes(expected)
        ))
    }

    /// Asks about a cut that ended far too early or late; what is said becomes a note of the run.
    fn explain(&mut self, at: &Instance, odd: &str) -> Result<Flow, WalkError> {
        let page = Page::new()
            .toned(Tone::Look, odd)
            .text("A skipped part of the program, another program, a feed override or a hold each look like this. Look at the whole face before you go on.")
            .next("Type in a few words why.");
        self.desk.show(&page)?;
        loop {
            match self.listen(at, "why", &Part::Other("why".to_owned()))? {
                Heard::Flow(flow) => return Ok(flow),
                Heard::Said(said) if said.chars().any(char::is_alphabetic) => {
                    self.must_carry(&Command::Note {
                        text: format!("{odd} {said}"),
                    })?;
                    self.desk.taken()?;
                    return Ok(Flow::Next);
                }
                Heard::Said(said) => self.refuse(at, &said, "say it in words")?,
            }
        }
    }

    /// A cut that was under way when the run was left.
    pub(super) fn cut_under_way(&mut self, at: &Instance) -> Result<Flow, WalkError> {
        let Some(step) = self.state.step(at).cloned() else {
            return Err(WalkError::Fault(format!("there is no step {at}")));
        };
        self.show_place(at, &Standing::Open, &step)?;
        let text = "This cut was under way when the run was left.";
        self.desk.show(&Page::new().toned(Tone::Look, text))?;
        self.left_meanwhile = true;
        let flow = self.end_cut(at, None);
        self.left_meanwhile = false;
        flow
    }
}
