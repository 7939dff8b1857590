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
    "look at the units, at where the work zero lies, and whether the plate is too long for this machine",
);

/// At the end, with where all motions go: too far for the axis wherever the zero lies, or from where it does.
pub fn end(all: &Sides, setup: &Setup, found: &mut Found) {
    let Some(mill) = setup.mill else {
        return;
    };
    for (axis, name) in ["X", "Y"].into_iter().enumerate() {
        let (Some(travel), Some(side)) = (mill.travel, all.get(axis)) else {
            continue;
        };
        let most = travel.get(axis).copied().unwrap_or(f64::INFINITY);
        let reach = side[1] - side[0];
        if !reach.is_finite() {
            continue;
        }
        if reach > most + SAME {
            found.whole(
                &RULE,
                format!("{name} moves {reach:.3} mm, the machine travels {most:.3}"),
            );
        } else if let Some(zero) = setup.zero.and_then(|z| z.get(axis).copied()) {
            let [low, high] = side.map(|s| s + zero);
            // Home is at one end of the axis, and its coordinates count away from there, up or down.
            let within = |a: f64, b: f64| low >= a - SAME && high <= b + SAME;
            if !within(0.0, most) && !within(-most, 0.0) {
                found.whole(
                    &RULE,
                    format!(
                        "{name} goes from {low:.3} to {high:.3} of the machine, which travels {most:.3} mm from home"
                    ),
                );
            }
        }
    }
    if let (Some([_, _, zero]), Some(lowest)) = (setup.zero, mill.lowest_z) {
        let [low, high] = all[2].map(|s| s + zero);
        if low < lowest - SAME || high.is_finite() && high > SAME {
            found.whole(
                &RULE,
                format!(
                    "Z goes from {low:.3} to {high:.3} of the machine, which has {lowest:.3} to 0"
                ),
            );
        }
    }
}
