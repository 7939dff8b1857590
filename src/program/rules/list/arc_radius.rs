//! An arc by radius near a half or a full turn.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "arc-radius",
    "an arc by radius near a half or a full turn",
    "a rounding of the last digit moves its centre by far",
    "give I and J instead, or cut the arc in two",
);
