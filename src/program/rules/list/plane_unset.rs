//! An arc before G17, G18 or G19.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "plane-unset",
    "an arc before G17, G18 or G19",
    "XY is taken here; the program before may have left another plane",
    "say G17 in the first block",
);

/// At an arc.
pub fn arc(arc: &Motion<'_>, found: &mut Found) {
    if arc.setting.plane == Fact::Unset {
        found.once(&RULE, arc.at, String::new);
    }
}
