//! Stops in the middle.

use crate::program::rules::rule::{Rule, note};

/// Sorted by code.
pub const RULES: &[Rule] = &[note(
    "stops",
    "stops for the operator",
    "the program waits for cycle start in the middle",
    "know where, and why",
)];
