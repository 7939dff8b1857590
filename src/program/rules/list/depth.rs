//! How low it cuts.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "air",
        "every cut stays above the plate",
        "the program touches nothing; the zero or the plane is another than was meant",
        "compare the lowest Z and the work offset with what was set",
    ),
    stop(
        "depth",
        "the lowest cut is not where it was said to be",
        "the entry for the readout counts on it; the plate is cut by the difference too deep or too shallow",
        "read the lowest Z again, or find the program that belongs to it",
    ),
];
