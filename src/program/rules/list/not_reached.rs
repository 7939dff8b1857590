//! Part of the plate is not reached by the cutter's flat.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "not-reached",
    "part of the plate is not reached by the cutter's flat",
    "old surface is left standing there",
    "look where, and make the rows longer, nearer or more",
);
