//! No work offset named before the first cut.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "offset-unset",
    "no work offset named before the first cut",
    "it is the one that the program before left",
    "say G54 (or whichever was zeroed) in the first block",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if cut.setting.work_offset == Fact::Unset {
        found.once(&RULE, cut.at, String::new);
    }
}
