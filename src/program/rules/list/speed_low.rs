//! A speed below the machine's lowest.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "speed-low",
    "a speed below the machine's lowest",
    "the spindle stalls or does not start",
    "write a higher S",
);

/// At a cut, at `speed` turns a minute.
pub fn cut(speed: f64, setup: &Setup, at: At<'_>, found: &mut Found) {
    if let Some([lowest, _]) = setup.mill.and_then(|m| m.speeds)
        && speed > 0.0
        && speed < lowest * (1.0 - 1e-9)
    {
        found.once(&RULE, at, || format!("S{speed:.0}, lowest {lowest:.0}"));
    }
}
