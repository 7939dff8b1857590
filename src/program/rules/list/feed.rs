//! Feed.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "feed-high",
        "a feed above the machine's highest",
        "it is not reached, or the control stops",
        "lower F; is a unit off?",
    ),
    look(
        "feed-low",
        "a feed below 10 mm/min",
        "this is what a feed per turn looks like when it is read per minute; the cutter rubs",
        "look at G93, G94, G95 and the unit",
    ),
    stop(
        "feed-unset",
        "a feed move without feed",
        "the feed is what the program before left, or nought",
        "say F with the first G1",
    ),
    stop(
        "feed-zero",
        "a feed of nought or below",
        "the machine stands still with the cutter in the plate, or the control stops",
        "write the feed that is meant",
    ),
];
