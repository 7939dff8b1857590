//! The program writes a work offset.

use crate::program::finding::Found;
use crate::program::happening::Happening;
use crate::program::happening::What;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "offset-written",
    "the program writes a work offset",
    "the zero you set is undone, and may stay so for the next job",
    "take G10 out",
);

/// Where the program writes into the table of offsets.
pub fn happening(happening: &Happening<'_>, found: &mut Found) {
    if happening.what == What::OffsetWritten {
        found.add(&RULE, happening.at, None, String::new);
    }
}
