//! The tool.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "tool-change",
        "a second tool change",
        "touch-off and length are those of one cutter",
        "make a program for each tool",
    ),
    stop(
        "tool-differs",
        "another tool than was said",
        "the cutter that was touched off is not the one the program calls",
        "make them the same",
    ),
    look(
        "tool-unchanged",
        "a tool is called and not changed",
        "T alone only makes ready; the spindle may hold another",
        "say M6, or take T out",
    ),
];
