//! Both inch and millimetre.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setting::Units;

/// What it is.
pub const RULE: Rule = stop(
    "units-mixed",
    "both inch and millimetre",
    "every number before and after means something else",
    "make it one unit; look for a second program in the file",
);

/// Where a unit is set, after those before it.
pub fn set(units: Units, before: &[Units], at: At<'_>, found: &mut Found) {
    if before.iter().any(|b| *b != units) {
        found.add(&RULE, at, None, String::new);
    }
}
