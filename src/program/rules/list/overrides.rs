//! Overrides.

use crate::program::rules::rule::{Rule, look};

/// Sorted by code.
pub const RULES: &[Rule] = &[look(
    "override-off",
    "the overrides are switched off",
    "your hand on the feed override does nothing",
    "take M49 out",
)];
