//! How much a pass takes.

use crate::program::rules::rule::{Rule, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[stop(
    "bite",
    "a bite deeper than the cutter takes",
    "the cutter breaks, or lifts the plate",
    "raise the plane, or take more passes",
)];
