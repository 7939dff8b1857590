//! The spindle turns counter-clockwise.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};
use crate::program::setting::Spindle;

/// What it is.
pub const RULE: Rule = look(
    "spindle-left",
    "the spindle turns counter-clockwise",
    "nearly every cutter cuts clockwise only",
    "say M3, unless the cutter is a left-hand one",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if cut.setting.spindle == Fact::Known(Spindle::CounterClockwise) {
        found.once(&RULE, cut.at, String::new);
    }
}
