//! The file ends in the middle.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "cut-off",
    "the file ends in the middle",
    "the last line has no end and the program none either; the rest was lost in copying",
    "copy the file again and compare the sizes",
);
