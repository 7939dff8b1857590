//! Cutting without coolant.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = look(
    "coolant-off",
    "cutting without coolant",
    "aluminium welds itself to a dry cutter",
    "turn coolant on before the cut, or know why not",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, setup: &Setup, found: &mut Found) {
    let dry = match cut.setting.coolant {
        Fact::Known(coolant) => !coolant.on(),
        Fact::Unset => true,
        Fact::Unknown(_) => false,
    };
    if dry && setup.mill.and_then(|m| m.coolant).unwrap_or(true) {
        found.once(&RULE, cut.at, String::new);
    }
}
