//! A letter in a comment that the control may not show.

use crate::program::rules::rule::{Rule, note};

/// What it is.
pub const RULE: Rule = note(
    "stray-byte-comment",
    "a letter in a comment that the control may not show",
    "some controls stop reading at it",
    "write the comment in plain letters",
);
