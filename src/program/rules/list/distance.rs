//! What coordinates count from.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "distance-end",
        "ends in incremental mode",
        "the next program may start in it",
        "say G90 before the end",
    ),
    stop(
        "distance-unset",
        "neither G90 nor G91 before the first move",
        "coordinates count from zero or from where the axes stand, as the program before left it",
        "say G90 in the first block",
    ),
];
