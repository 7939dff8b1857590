//! A decimal comma.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "decimal-comma",
    "a decimal comma",
    "a control reads the number up to the comma, or refuses it",
    "post the program with decimal points",
);
