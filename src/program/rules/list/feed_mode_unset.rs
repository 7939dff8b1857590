//! No G94 before the first feed move.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "feed-mode-unset",
    "no G94 before the first feed move",
    "feed is taken by the minute here; the program before may have left another mode",
    "say G94 in the first block",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if cut.setting.feed_mode == Fact::Unset {
        found.once(&RULE, cut.at, String::new);
    }
}
