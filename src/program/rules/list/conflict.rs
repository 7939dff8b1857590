//! Codes that exclude each other in one block.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "conflict",
    "codes that exclude each other in one block",
    "two codes of one group, or axis words claimed twice: controls refuse the block or take either",
    "write them in two blocks, in the order that is meant",
);
