//! Ends in incremental mode.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::happening::Happening;
use crate::program::rules::rule::{Rule, look};
use crate::program::setting::Distance;

/// What it is.
pub const RULE: Rule = look(
    "distance-end",
    "ends in incremental mode",
    "the next program may start in it",
    "say G90 before the end",
);

/// At the end code.
pub fn ends(end: &Happening<'_>, found: &mut Found) {
    if end.setting.distance == Fact::Known(Distance::Incremental) {
        found.add(&RULE, end.at, None, String::new);
    }
}
