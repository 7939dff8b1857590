//! Block delete changes the verdict.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "block-delete",
    "block delete changes the verdict",
    "blocks with a stroke run or not by a switch on the panel",
    "say which way the switch stands, or take the strokes out",
);
