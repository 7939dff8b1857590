//! Percent signs that do not make a pair.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "percent",
    "percent signs that do not make a pair",
    "a control may not take the file, or may stop reading early",
    "one before the first block and one after the last, or none",
);
