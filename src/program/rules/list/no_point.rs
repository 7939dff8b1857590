//! A dimension without decimal point.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "no-point",
    "a dimension without decimal point",
    "this control counts it in its least increment, or refuses it",
    "write the point",
);
