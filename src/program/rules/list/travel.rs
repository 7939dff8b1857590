//! Further than the machine travels.

use crate::program::finding::Found;
use crate::program::rules::extent::Sides;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "travel",
    "further than the machine travels",
    "the machine runs into its ends, or the control stops in the cut",
    "is a unit off? is the plate too long for this machine?",
);

/// At the end, with where all motions go.
pub fn end(all: &Sides, setup: &Setup, found: &mut Found) {
    let Some(travel) = setup.mill.and_then(|m| m.travel) else {
        return;
    };
    for ((axis, most), side) in ["X", "Y"].into_iter().zip(travel).zip(all) {
        let reach = side[1] - side[0];
        if reach.is_finite() && reach > most + SAME {
            found.whole(
                &RULE,
                format!("{axis} moves {reach:.3} mm, the machine travels {most:.3}"),
            );
        }
    }
}
