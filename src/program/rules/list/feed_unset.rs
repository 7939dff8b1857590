//! A feed move without feed.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "feed-unset",
    "a feed move without feed",
    "the feed is what the program before left, or nought",
    "say F with the first G1",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if cut.feed == Fact::Unset {
        found.once(&RULE, cut.at, String::new);
    }
}
