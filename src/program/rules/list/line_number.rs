//! A line number that is not in order.

use crate::program::rules::rule::{Rule, note};

/// What it is.
pub const RULE: Rule = note(
    "line-number",
    "a line number that is not in order",
    "only the search for a block on the control is in doubt",
    "number the blocks again",
);
