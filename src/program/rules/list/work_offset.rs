//! The work offset.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "offset-differs",
        "another work offset than was zeroed",
        "X, Y and Z are off by the difference of the two",
        "make program and control the same",
    ),
    stop(
        "offset-unset",
        "no work offset named before the first cut",
        "it is the one that the program before left",
        "say G54 (or whichever was zeroed) in the first block",
    ),
    stop(
        "offset-written",
        "the program writes a work offset",
        "the zero you set is undone, and may stay so for the next job",
        "take G10 out",
    ),
];
