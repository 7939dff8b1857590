//! The cut is 25.4 times as large as the plate, or as small.

use crate::program::finding::Found;
use crate::program::rules::extent::Sides;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "units-size",
    "the cut is 25.4 times as large as the plate, or as small",
    "the unit is the likeliest slip",
    "look at G20 and G21, and at the numbers",
);

/// At the end, with what feed moves reach; whether it is so.
pub fn end(cut: &Sides, setup: &Setup, found: &mut Found) -> bool {
    let Some(plate) = setup.plate else {
        return false;
    };
    let [x, y, _] = cut.map(|side| side[1] - side[0]);
    let shares = [x / plate.size[0], y / plate.size[1]];
    let near = |share: f64, ratio: f64| share > ratio * 0.75 && share < ratio * 1.6;
    let slip = [25.4, 1.0 / 25.4]
        .into_iter()
        .any(|ratio| shares.iter().all(|share| near(*share, ratio)));
    if slip {
        let [long, wide] = plate.size;
        found.whole(
            &RULE,
            format!("cuts {x:.3} x {y:.3} mm, the plate is {long:.3} x {wide:.3}"),
        );
    }
    slip
}
