//! More digits than a control keeps.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "digits",
    "more digits than a control keeps",
    "what it does with the rest is not known",
    "round to the fourth decimal",
);
