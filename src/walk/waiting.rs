//! Asking for a time that must have run: here, with a bar, or already.

use super::error::WalkError;
use super::prompt_commands::{PromptInput, stop_word};
use super::session::{Flow, Session};
use crate::interlock::Instance;
use crate::interlock::command::GivenAnswer;
use crate::procedure::Step;
use crate::quantity::parse::quantity;
use crate::quantity::{Dimension, Exact, Quantity, Unit};
use crate::report::page::Page;
use crate::terminal::prompt::{QuestionPart, Wait, WaitEnd};
use std::time::Duration;

/// The word that starts a wait here.
const BEGIN: &str = "start";

impl Session<'_> {
    pub(super) fn wait(
        &mut self,
        at: &Instance,
        step: &Step,
        wanted: Quantity,
        may_be_shortened: bool,
    ) -> Result<Flow, WalkError> {
        let wanted_words = self.show().one(wanted);
        let shorter = if may_be_shortened {
            " A shorter time needs a reason."
        } else {
            ""
        };
        let page = Page::new().next(format!(
            "{wanted_words} is asked for. Type `{BEGIN}` to run it here, or how long it has run already.{shorter}"
        ));
        self.prompter.show(&page)?;
        let Some(unit) = Unit::usual(Dimension::TIME, self.state.begun.unit) else {
            return Err(WalkError::Fault("there is no unit of time".to_owned()));
        };
        loop {
            let said = match self.answer_or_keep_old(at, "time in min", &QuestionPart::Answer)? {
                PromptInput::Said(said) => said,
                PromptInput::Flow(flow) => return Ok(flow),
            };
            let ran = if said == BEGIN {
                let limit = duration(wanted);
                let watch = Wait {
                    title: &step.title,
                    expected: Some(limit),
                    limit: Some(limit),
                };
                match self.prompter.watch(&watch)? {
                    WaitEnd::Reached => wanted,
                    WaitEnd::Enter { said, .. } if stop_word(&said).is_some() => {
                        return self.stop(at, stop_word(&said).unwrap_or_default());
                    }
                    WaitEnd::Enter { elapsed, .. } => whole_seconds(elapsed),
                    WaitEnd::Interrupted => return self.leave("Ctrl-C"),
                    WaitEnd::Closed => return self.leave("the terminal went away"),
                }
            } else {
                match quantity(&said, &unit, self.state.procedure.decimal) {
                    Ok(typed) => typed.quantity,
                    Err(e) => {
                        self.refuse(at, &said, &e.to_string())?;
                        continue;
                    }
                }
            };
            if let Some(flow) = self.give(at, &said, GivenAnswer::Quantity(ran))? {
                return Ok(flow);
            }
        }
    }
}

/// A time as the clock counts; nought where it is below.
pub(super) fn duration(time: Quantity) -> Duration {
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
