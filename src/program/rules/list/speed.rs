//! Spindle speed.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "speed-high",
        "a speed above what cutter or machine may run",
        "a cutter that bursts throws its pieces",
        "write a lower S",
    ),
    stop(
        "speed-low",
        "a speed below the machine's lowest",
        "the spindle stalls or does not start",
        "write a higher S",
    ),
    stop(
        "speed-unset",
        "no speed before the cut, or nought",
        "M3 alone turns the spindle as the program before left it, or not at all",
        "say S before M3",
    ),
];
