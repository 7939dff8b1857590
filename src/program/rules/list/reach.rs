//! How far the path reaches.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "edge",
        "rows that do not reach past the edges",
        "a rim of old surface is left standing at the edge",
        "make the rows longer, or set X and Y zero where the program wants them",
    ),
    stop(
        "travel",
        "further than the machine travels",
        "the machine runs into its ends, or the control stops in the cut",
        "is a unit off? is the plate too long for this machine?",
    ),
];
