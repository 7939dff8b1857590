//! What F means.

use crate::program::rules::rule::{Rule, look};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "feed-mode",
        "feed by inverse time or by turn",
        "F means something else from one line to the next, and the feed the plate sees is worked out from others",
        "post the program with G94",
    ),
    look(
        "feed-mode-unset",
        "no G94 before the first feed move",
        "feed is taken by the minute here; the program before may have left another mode",
        "say G94 in the first block",
    ),
];
