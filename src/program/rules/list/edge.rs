//! Rows that do not reach past the edges.

use crate::program::finding::Found;
use crate::program::rules::extent::Sides;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "edge",
    "rows that do not reach past the edges",
    "a rim of old surface is left standing at the edge",
    "make the rows longer, or set X and Y zero where the program wants them",
);

/// At the end, with what is cut at the lowest height.
pub fn end(low: &Sides, setup: &Setup, found: &mut Found) {
    let (Some(plate), Some(cutter)) = (setup.plate, setup.cutter) else {
        return;
    };
    let flat = cutter.flat_radius();
    for (axis, name) in ["X", "Y"].into_iter().enumerate() {
        let (Some(side), Some(size)) = (low.get(axis), plate.size.get(axis)) else {
            continue;
        };
        if side[0] > side[1] {
            continue;
        }
        if let Some(corner) = plate.corner.and_then(|c| c.get(axis).copied()) {
            let short = [
                ("low", side[0] - flat - corner),
                ("high", corner + size - (side[1] + flat)),
            ];
            for (end, short) in short.into_iter().filter(|(_, s)| *s > SAME) {
                found.whole(
                    &RULE,
                    format!("{short:.3} mm short at the {end} end of {name}"),
                );
            }
        } else {
            let short = size - (side[1] - side[0] + 2.0 * flat);
            if short > SAME {
                found.whole(&RULE, format!("{short:.3} mm short along {name} in all"));
            }
        }
    }
}
