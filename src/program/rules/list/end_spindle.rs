//! The spindle is left to the end code.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::happening::Happening;
use crate::program::rules::rule::{Rule, note};
use crate::program::setting::Spindle;

/// What it is.
pub const RULE: Rule = note(
    "end-spindle",
    "the spindle is left to the end code",
    "most ends stop it",
    "say M5 before the end",
);

/// At the end code.
pub fn ends(end: &Happening<'_>, found: &mut Found) {
    let turns = Fact::Known(Spindle::Clockwise) == end.setting.spindle
        || Fact::Known(Spindle::CounterClockwise) == end.setting.spindle;
    if turns {
        found.add(&RULE, end.at, None, String::new);
    }
}
