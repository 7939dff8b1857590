//! A byte that no program has.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "stray-byte",
    "a byte that no program has",
    "the file was damaged, or saved in another form than plain text",
    "save it as plain text, or copy it again",
);
