//! A feed move with the spindle stopped.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setting::Spindle;

/// What it is.
pub const RULE: Rule = stop(
    "spindle-off",
    "a feed move with the spindle stopped",
    "the cutter is pushed through the plate",
    "M3 after the tool change and before the first move down; M5 acts before the move of its block",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if let Fact::Known(Spindle::Stopped) | Fact::Unset = cut.setting.spindle {
        found.once(&RULE, cut.at, String::new);
    }
}
