//! The plane of arcs.

use crate::program::rules::rule::{Rule, look};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "plane-unset",
        "an arc before G17, G18 or G19",
        "XY is taken here; the program before may have left another plane",
        "say G17 in the first block",
    ),
    look(
        "plane-xy",
        "cutting arcs outside the XY plane",
        "a facing program has no reason to",
        "is it the right program?",
    ),
];
