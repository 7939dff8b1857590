//! Comments.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "nested-comment",
        "a comment in a comment",
        "controls end a comment at the first closing bracket; what follows is then read as words",
        "write the inner brackets otherwise",
    ),
    stop(
        "open-comment",
        "a comment that does not end",
        "what follows in the line is lost, on some controls the rest of the program",
        "close the bracket",
    ),
];
