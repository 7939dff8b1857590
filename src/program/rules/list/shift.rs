//! Shifts.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[stop(
    "shift-active",
    "a shift (G92) is active",
    "the plane and the rows lie elsewhere than the zero you set",
    "take G92 out, or cancel it with G92.1 before the first move",
)];
