//! A code without the word it needs, or with a value it cannot take.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "missing-word",
    "a code without the word it needs, or with a value it cannot take",
    "controls refuse the block, or take an old value",
    "add the word or mend the value",
);
