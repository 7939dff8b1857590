//! Coolant is left to the end code.

use crate::program::finding::Found;
use crate::program::happening::Happening;
use crate::program::rules::rule::{Rule, note};
use crate::program::setting::Coolant;

/// What it is.
pub const RULE: Rule = note(
    "end-coolant",
    "coolant is left to the end code",
    "most ends turn it off",
    "say M9 before the end",
);

/// At the end code.
pub fn ends(end: &Happening<'_>, found: &mut Found) {
    if end.setting.coolant.known().is_some_and(Coolant::on) {
        found.add(&RULE, end.at, None, String::new);
    }
}
