//! A drilling cycle in a facing program.

use crate::program::finding::Found;
use crate::program::happening::Happening;
use crate::program::happening::What;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "cycle",
    "a drilling cycle in a facing program",
    "a facing program has no holes",
    "look whether it is the right program",
);

/// Where a cycle is called.
pub fn happening(happening: &Happening<'_>, found: &mut Found) {
    if let What::Cycle(number) = happening.what {
        found.once(&RULE, happening.at, || format!("G{number}"));
    }
}
