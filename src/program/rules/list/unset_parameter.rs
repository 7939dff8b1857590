//! A value from the control's memory.

use crate::program::rules::rule::{Rule, unsure};

/// What it is.
pub const RULE: Rule = unsure(
    "unset-parameter",
    "a value from the control's memory",
    "the program never set this parameter, so what it holds is not known here",
    "set it in the program, or write the number",
);
