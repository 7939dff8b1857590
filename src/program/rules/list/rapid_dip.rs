//! A rapid goes down and sideways at once.

use crate::program::finding::Found;
use crate::program::rules::height::Lowest;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "rapid-dip",
    "a rapid goes down and sideways at once",
    "the axes run independently on many machines: down first, then across",
    "X and Y first, then Z, in two blocks",
);

/// How near above the metal a way down and across is worth a look, in mm: ours, no source.
const NEAR: f64 = 1.0;

/// At the end, with the lowest rapid down and across and the height where metal may begin.
pub fn end(dip: &Lowest, top: f64, found: &mut Found) {
    if let Some(z) = dip.z
        && z <= top + NEAR
    {
        found.add(&RULE, dip.at.at(), None, || format!("to Z{z:.3}"));
    }
}
