//! A letter twice in a block.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "repeated-word",
    "a letter twice in a block",
    "controls refuse the block, or take either",
    "leave the one that is meant",
);
