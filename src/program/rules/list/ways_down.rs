//! Ways down.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "plunge",
        "straight down into the plate",
        "an end mill leaves a mark or breaks; one that does not cut to its centre cannot do it at all",
        "come down beside the plate",
    ),
    stop(
        "start-over-plate",
        "comes down over the plate",
        "coming down on the start point must be coming down in air",
        "start beside plate and clamps, by more than the cutter's radius",
    ),
];
