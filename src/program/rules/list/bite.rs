//! A bite deeper than the cutter takes.

use crate::program::finding::Found;
use crate::program::rules::height::Lowest;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "bite",
    "a bite deeper than the cutter takes",
    "the cutter breaks, or lifts the plate",
    "raise the plane, or take more passes",
);

/// At the end, with the lowest cut and every height that was cut across at, highest first.
pub fn end(cut: &Lowest, levels: impl Iterator<Item = f64>, setup: &Setup, found: &mut Found) {
    let most = setup.cutter.and_then(|c| c.deepest_bite);
    let (Some(stock), Some(most)) = (setup.stock_top, most) else {
        return;
    };
    let mut above = stock;
    for z in levels.filter(|z| *z < stock) {
        if above - z > most + SAME {
            found.add(&RULE, cut.at.at(), None, || {
                format!(
                    "{:.3} mm from Z{above:.3} to Z{z:.3}, the cutter takes {most:.3}",
                    above - z
                )
            });
            return;
        }
        above = z;
    }
}
