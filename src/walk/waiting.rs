//! Asking for a time that must have run: here, with a bar, or already.

use super::error::WalkError;
use super::listen::{Heard, stop_word};
use super::session::{Flow, Session};
use crate::desk::{Part, Watch, Watched};
use crate::interlock::Instance;
use crate::interlock::command::Said;
use crate::procedure::Step;
use crate::quantity::parse::quantity;
use crate::quantity::{Dimension, Exact, Quantity, Unit};
use crate::report::page::Page;
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
        self.desk.show(&page)?;
        let Some(unit) = Unit::usual(Dimension::TIME, self.state.begun.unit) else {
            return Err(WalkError::Fault("there is no unit of time".to_owned()));
        };
        loop {
            let said = match self.answer_or_keep(at, "time in min", &Part::Answer)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            let ran = if said == BEGIN {
                let limit = duration(wanted);
                let watch = Watch {
                    title: &step.title,
                    expected: Some(limit),
                    limit: Some(limit),
                };
                match self.desk.watch(&watch)? {
                    Watched::Reached => wanted,
                    Watched::Enter { said, .. } if stop_word(&said).is_some() => {
                        return self.stop(at, stop_word(&said).unwrap_or_default());
                    }
                    Watched::Enter { elapsed, .. } => whole_seconds(elapsed),
                    Watched::Interrupted => return self.leave("Ctrl-C"),
                    Watched::Closed => return self.leave("the terminal went away"),
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
            if let Some(flow) = self.give(at, &said, Said::Quantity(ran))? {
                return Ok(flow);
            }
        }
    }
}

/// A time as the clock counts; nought where it is below.
pub(super) fn duration(time: Quantity) -> Duration {
    let ms = crate::interlock::standing::milliseconds(time);
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
