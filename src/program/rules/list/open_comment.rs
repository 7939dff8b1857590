//! A comment that does not end.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "open-comment",
    "a comment that does not end",
    "what follows in the line is lost, on some controls the rest of the program",
    "close the bracket",
);
