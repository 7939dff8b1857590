//! A speed above what cutter or machine may run.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "speed-high",
    "a speed above what cutter or machine may run",
    "a cutter that bursts throws its pieces",
    "write a lower S",
);

/// At a cut, at `speed` turns a minute.
pub fn cut(speed: f64, setup: &Setup, at: At<'_>, found: &mut Found) {
    let highest = [
        setup.mill.and_then(|m| m.speeds).map(|s| s[1]),
        setup.cutter.and_then(|c| c.highest_speed),
    ];
    let highest = highest.into_iter().flatten().fold(f64::INFINITY, f64::min);
    if speed > highest * (1.0 + 1e-9) {
        found.once(&RULE, at, || format!("S{speed:.0}, highest {highest:.0}"));
    }
}
