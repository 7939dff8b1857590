//! Feed by inverse time or by turn.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};
use crate::program::setting::FeedMode;

/// What it is.
pub const RULE: Rule = look(
    "feed-mode",
    "feed by inverse time or by turn",
    "F means something else from one line to the next, and the feed the plate sees is worked out from others",
    "post the program with G94",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if let Fact::Known(FeedMode::InverseTime | FeedMode::PerTurn) = cut.setting.feed_mode {
        found.once(&RULE, cut.at, String::new);
    }
}
