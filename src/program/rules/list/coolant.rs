//! Coolant.

use crate::program::rules::rule::{Rule, look, note};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "coolant-off",
        "cutting without coolant",
        "aluminium welds itself to a dry cutter",
        "turn coolant on before the cut, or know why not",
    ),
    note(
        "end-coolant",
        "coolant is left to the end code",
        "most ends turn it off",
        "say M9 before the end",
    ),
];
