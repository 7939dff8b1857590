//! Blocks with a stroke.

use crate::program::rules::rule::{Rule, look, note};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "block-delete",
        "block delete changes the verdict",
        "blocks with a stroke run or not by a switch on the panel",
        "say which way the switch stands, or take the strokes out",
    ),
    note(
        "blocks-deleted",
        "blocks with a stroke",
        "a switch on the panel decides whether they run; both ways were followed",
        "know how the switch stands",
    ),
];
