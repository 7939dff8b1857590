//! Straight down into the plate.

use crate::program::finding::Found;
use crate::program::rules::height::Down;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "plunge",
    "straight down into the plate",
    "an end mill leaves a mark or breaks; one that does not cut to its centre cannot do it at all",
    "come down beside the plate",
);

/// A way down that meets the plate at a place, if it goes straight down there.
pub fn down(down: &Down, meets: [f64; 2], found: &mut Found) {
    if down.straight {
        let [x, y] = meets;
        found.add(&RULE, down.at.at(), None, || {
            format!("at X{x:.3} Y{y:.3} to Z{:.3}", down.z)
        });
    }
}
