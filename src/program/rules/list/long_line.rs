//! A line longer than 256 characters.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "long-line",
    "a line longer than 256 characters",
    "a control need not take more, and may cut the rest off",
    "break the line",
);
