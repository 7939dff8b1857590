//! Comes down over the plate.

use crate::program::finding::Found;
use crate::program::rules::height::Down;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "start-over-plate",
    "comes down over the plate",
    "coming down on the start point must be coming down in air",
    "start beside plate and clamps, by more than the cutter's radius",
);

/// A way down that meets the plate at a place, if it goes across at the same time.
pub fn down(down: &Down, meets: [f64; 2], found: &mut Found) {
    if !down.straight {
        let [x, y] = meets;
        found.add(&RULE, down.at.at(), None, || {
            format!("at X{x:.3} Y{y:.3} to Z{:.3}", down.z)
        });
    }
}
