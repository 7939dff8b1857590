//! Axis words without a motion code.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "no-motion",
    "axis words without a motion code",
    "the axes move as the program before left it, at the rapid rate perhaps",
    "say G0 or G1 in the block",
);
