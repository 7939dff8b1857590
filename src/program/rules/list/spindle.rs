//! The spindle.

use crate::program::rules::rule::{Rule, look, note, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    note(
        "end-spindle",
        "the spindle is left to the end code",
        "most ends stop it",
        "say M5 before the end",
    ),
    look(
        "spindle-left",
        "the spindle turns counter-clockwise",
        "nearly every cutter cuts clockwise only",
        "say M3, unless the cutter is a left-hand one",
    ),
    stop(
        "spindle-off",
        "a feed move with the spindle stopped",
        "the cutter is pushed through the plate",
        "M3 after the tool change and before the first move down; M5 acts before the move of its block",
    ),
];
