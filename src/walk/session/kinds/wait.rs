//! Asking for a time that must have run: here, with a bar, or already.

use crate::interlock::Instance;
use crate::interlock::command::GivenAnswer;
use crate::procedure::Step;
use crate::quantity::{Dimension, Exact, Quantity, Unit};
use crate::report::page::Page;
use crate::terminal::prompt::{QuestionPart, Wait, WaitEnd};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::commands::stop_reason;
use crate::walk::session::Session;
use crate::walk::session::answer_step::answered;
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
        let page = Page::new().next(format!(
            "{wanted_words} is asked for. Type `{BEGIN}` to run it here, or how long it has run already.{shorter}"
        ));
        self.prompter.show(&page)?;
        let Some(unit) = Unit::usual(Dimension::TIME, self.state.begun.unit) else {
            return Err(WalkError::Fault("there is no unit of time".to_owned()).into());
        };
        loop {
            let said = self.listen(at, "time in min", &QuestionPart::Answer)?;
            let ran = if said == BEGIN {
                let limit = duration(wanted);
                let watch = Wait {
                    title: &step.title,
                    expected: Some(limit),
                    limit: Some(limit),
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

/// A time as the clock counts; nought where it is below.
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
