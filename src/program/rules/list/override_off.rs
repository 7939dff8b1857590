//! The overrides are switched off.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "override-off",
    "the overrides are switched off",
    "your hand on the feed override does nothing",
    "take M49 out",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if cut.setting.overrides == Fact::Known(false) {
        found.once(&RULE, cut.at, String::new);
    }
}
