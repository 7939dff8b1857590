//! What lies between the rows.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "not-reached",
        "part of the plate is not reached by the cutter's flat",
        "old surface is left standing there",
        "look where, and make the rows longer, nearer or more",
    ),
    stop(
        "step-over",
        "rows further apart than the cutter's flat is wide",
        "a ridge is left standing between the rows",
        "narrow the rows, or take a larger cutter",
    ),
];
