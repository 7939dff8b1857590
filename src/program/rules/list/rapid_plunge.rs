//! A rapid down to cutting height.

use crate::program::finding::Found;
use crate::program::rules::height::Lowest;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "rapid-plunge",
    "a rapid down to cutting height",
    "in stock that breaks the cutter; and overrides are lowest where nobody expects them to matter",
    "stop the rapid above the plate and feed the rest",
);

/// At the end, with the lowest rapid down and the height where metal may begin.
pub fn end(plunge: &Lowest, top: f64, found: &mut Found) {
    if let Some(z) = plunge.z
        && z <= top + SAME
    {
        found.add(&RULE, plunge.at.at(), None, || {
            format!("to Z{z:.3}, metal up to Z{top:.3}")
        });
    }
}
