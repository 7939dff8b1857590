//! An arc whose radius differs between start and end.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "arc-mismatch",
    "an arc whose radius differs between start and end",
    "some controls refuse it in the middle of the cut, others blend the difference in",
    "post the program with more decimals, or with radius words",
);
