//! Characters that make no word.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "bad-word",
    "characters that make no word",
    "controls differ in what they then do, and a number or a whole word is missing from the block",
    "write the word anew",
);
