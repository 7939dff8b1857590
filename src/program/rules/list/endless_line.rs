//! A line without end.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "endless-line",
    "a line without end",
    "no program has such a line; its words are not read",
    "look whether it is the right file",
);
