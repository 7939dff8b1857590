//! G70 or G71 for the units.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "old-units",
    "G70 or G71 for the units",
    "on most mills these are other codes, and the units then stay as they were",
    "write G20 or G21, or look into the control's manual",
);
