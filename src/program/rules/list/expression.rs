//! An expression that cannot be read, or has no value.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "expression",
    "an expression that cannot be read, or has no value",
    "the word it belongs to is not known, and so is all that follows",
    "mend the expression, or write the number",
);
