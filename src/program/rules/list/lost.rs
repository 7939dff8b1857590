//! A place that is not known.

use crate::program::rules::rule::{Rule, unsure};

/// Sorted by code.
pub const RULES: &[Rule] = &[unsure(
    "lost",
    "where the cutter is cannot be told",
    "what depends on it is not judged",
    "mend what the finding before says",
)];
