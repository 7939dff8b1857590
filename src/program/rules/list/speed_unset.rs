//! No speed before the cut, or nought.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "speed-unset",
    "no speed before the cut, or nought",
    "M3 alone turns the spindle as the program before left it, or not at all",
    "say S before M3",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    let said = match cut.setting.speed {
        Fact::Unset => "no S",
        Fact::Known(0.0) => "S0",
        Fact::Known(_) | Fact::Unknown(_) => return,
    };
    found.once(&RULE, cut.at, || said.to_owned());
}
