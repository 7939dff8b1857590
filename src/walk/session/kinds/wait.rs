//! Asking for a time that must have run: here, with a bar, or already.

use crate::interlock::command::GivenAnswer;
use crate::interlock::{AnswerStatus, Command, Instance};
use crate::procedure::{Kind, Step};
use crate::quantity::{Dimension, Exact, Quantity, Unit};
use crate::report::page::{Page, Tone};
use crate::report::words::title;
use crate::terminal::prompt::{QuestionPart, Wait, WaitEnd};
use crate::terminal::screen::minutes;
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::commands::stop_reason;
use crate::walk::session::Session;
use crate::walk::session::answer_step::answered;
use crate::walk::store::commit::Committed;
use std::time::Duration;

/// The word that starts a wait here.
const BEGIN: &str = "start";

impl Session<'_> {
    pub(crate) fn wait(
        &mut self,
        at: &Instance,
        step: &Step,
        wanted: Quantity,
        may_be_shortened: bool,
    ) -> Prompted<()> {
        let wanted_words = self.show().one(wanted);
        let shorter = if may_be_shortened {
            " A shorter time needs a reason."
        } else {
            ""
        };
        let text = match self.time_left(at) {
            Some(left) => format!(
                "What comes next needs this: {} of {wanted_words} to go. Type `{BEGIN}` to wait here, or how long it has run already.{shorter}",
                minutes(left)
            ),
            None => format!(
                "{wanted_words} is asked for. Type `{BEGIN}` to run it here, or how long it has run already.{shorter}"
            ),
        };
        let page = Page::new().next(text);
        self.prompter.show(&page)?;
        let Some(unit) = Unit::usual(Dimension::TIME, self.state.begun.unit) else {
            return Err(WalkError::Fault("there is no unit of time".to_owned()).into());
        };
        loop {
            let said = self.listen(at, "time in min", &QuestionPart::Answer)?;
            let ran = if said == BEGIN {
                let limit = duration(wanted);
                let left = self.time_left(at).unwrap_or(limit);
                let watch = Wait {
                    title: &step.title,
                    expected: Some(limit),
                    limit: Some(limit),
                    before: limit.saturating_sub(left),
                };
                match self.prompter.watch(&watch)? {
                    WaitEnd::Reached => wanted,
                    WaitEnd::Enter { said, .. } if stop_reason(&said).is_some() => {
                        return Err(self.stop(at, stop_reason(&said).unwrap_or_default()));
                    }
                    WaitEnd::Enter { elapsed, .. } => whole_seconds(elapsed),
                    WaitEnd::Interrupted => return Err(self.leave("Ctrl-C")),
                    WaitEnd::Closed => return Err(self.leave("the terminal went away")),
                }
            } else {
                match self.reads(&said, &unit) {
                    Ok(ran) => ran,
                    Err(why) => {
                        self.refuse(at, &said, &why)?;
                        continue;
                    }
                }
            };
            if self.give(at, &said, answered(at, GivenAnswer::Quantity(ran)))? {
                return Ok(());
            }
        }
    }
}

/// Timers that run while other questions go on.
impl Session<'_> {
    /// How long the timer of a step still runs.
    fn time_left(&self, at: &Instance) -> Option<Duration> {
        let running = self.state.running_timers(self.now());
        let (_, left) = running.into_iter().find(|(of, _)| of == at)?;
        Some(Duration::from_millis(u64::try_from(left).unwrap_or(0)))
    }

    /// Answers the steps whose timers have run their time.
    pub(crate) fn finish_timers(&mut self) -> Result<(), WalkError> {
        if self.state.timers.is_empty()
            || self.state.cutting.is_some()
            || self.state.open_stop.is_some()
            || self.state.out_of_service.is_some()
        {
            return Ok(());
        }
        for (at, left) in self.state.running_timers(self.now()) {
            if left > 0 {
                continue;
            }
            if let Committed::Stored(_) = self.commit(&Command::FinishTimer { at: at.clone() })? {
                let text = format!("{}: its time has run.", title(&self.state, &at));
                self.prompter.show(&Page::new().toned(Tone::Quiet, text))?;
            }
        }
        Ok(())
    }

    /// Whether the next question is none: a timer begins instead.
    pub(crate) fn is_timer_to_begin(&self, at: &Instance, standing: &AnswerStatus) -> bool {
        let background = matches!(
            self.state.step(at).map(|s| &s.kind),
            Some(Kind::Wait {
                in_background: true,
                ..
            })
        );
        background && !matches!(standing, AnswerStatus::Running { .. } | AnswerStatus::Holds)
    }

    /// Begins the timer of the step that is next.
    pub(crate) fn begin_timer(&mut self, at: &Instance, standing: &AnswerStatus) -> Prompted<()> {
        let Some(step) = self.state.step(at).cloned() else {
            return Err(WalkError::Fault(format!("there is no step {at}")).into());
        };
        self.show_worked_out(false)?;
        self.show_place(at, standing, &step)?;
        self.must_commit(&Command::BeginTimer { at: at.clone() })?;
        let time = match &step.kind {
            Kind::Wait { time, .. } => self.state.env(at).quantity(time).ok(),
            _ => None,
        };
        let time = time.map_or(String::new(), |time| self.show().one(time));
        let text = format!("{time} run from now while the questions go on; what needs them waits.");
        Ok(self.prompter.show(&Page::new().toned(Tone::Strong, text))?)
    }
}

/// A time as the clock counts; zero where it is below.
pub(crate) fn duration(time: Quantity) -> Duration {
    let ms = crate::interlock::answer_status::milliseconds(time);
    Duration::from_millis(u64::try_from(ms).unwrap_or(0))
}

/// Whole seconds that ran.
fn whole_seconds(elapsed: Duration) -> Quantity {
    let seconds = i64::try_from(elapsed.as_secs()).unwrap_or(i64::MAX);
    Quantity {
        amount: Exact::whole(seconds),
        dimension: Dimension::TIME,
    }
}
