//! Blocks with a stroke.

use crate::program::rules::rule::{Rule, note};

/// What it is.
pub const RULE: Rule = note(
    "blocks-deleted",
    "blocks with a stroke",
    "a switch on the panel decides whether they run; both ways were followed",
    "know how the switch stands",
);
