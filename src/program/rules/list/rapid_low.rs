//! A rapid across at cutting height.

use crate::program::finding::Found;
use crate::program::rules::height::Lowest;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "rapid-low",
    "a rapid across at cutting height",
    "at the traverse rate through metal, a clamp or a burr",
    "lift Z before every rapid in X or Y",
);

/// At the end, with the lowest rapid across and the height where metal may begin.
pub fn end(across: &Lowest, top: f64, found: &mut Found) {
    if let Some(z) = across.z
        && z <= top + SAME
    {
        found.add(&RULE, across.at.at(), None, || {
            format!("at Z{z:.3}, metal up to Z{top:.3}")
        });
    }
}
