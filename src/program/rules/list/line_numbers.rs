//! Line numbers.

use crate::program::rules::rule::{Rule, note};

/// Sorted by code.
pub const RULES: &[Rule] = &[note(
    "line-number",
    "a line number that is not in order",
    "only the search for a block on the control is in doubt",
    "number the blocks again",
)];
