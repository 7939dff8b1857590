//! Whether it is a facing program at all.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "cycle",
        "a drilling cycle in a facing program",
        "a facing program has no holes",
        "is it the right program?",
    ),
    stop(
        "nothing-cut",
        "no feed move in the whole file",
        "this is no facing program, or nothing of it could be read",
        "is it the right file?",
    ),
];
