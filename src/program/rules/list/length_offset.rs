//! The length offset.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "length-differs",
        "another length offset than was read back",
        "touched with one and run with another is the classic crash",
        "make program and control the same, and touch off again",
    ),
    look(
        "length-tool",
        "H is not the tool's number",
        "a slip of the finger when the length is another tool's",
        "know why they differ",
    ),
    stop(
        "length-unset",
        "cutting without the length offset that was active at touch-off",
        "Z is off by a tool's length",
        "say G43 H before the first move in Z",
    ),
];
