//! Chip load.

use crate::program::rules::rule::{Rule, look};

/// Sorted by code.
pub const RULES: &[Rule] = &[look(
    "chip-load",
    "a chip load outside the cutter's range",
    "too small rubs and heats, too large breaks teeth",
    "change feed or speed",
)];
