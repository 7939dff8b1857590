//! Values worked out.

use crate::program::rules::rule::{Rule, stop, unsure};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "expression",
        "an expression that cannot be read, or has no value",
        "the word it belongs to is not known, and so is all that follows",
        "mend the expression, or write the number",
    ),
    unsure(
        "unset-parameter",
        "a value from the control's memory",
        "the program never set this parameter, so what it holds is not known here",
        "set it in the program, or write the number",
    ),
];
