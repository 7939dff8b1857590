//! The lowest cut is not where it was said to be.

use crate::program::finding::Found;
use crate::program::rules::height::Lowest;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "depth",
    "the lowest cut is not where it was said to be",
    "the entry for the readout counts on it; the plate is cut by the difference too deep or too shallow",
    "read the lowest Z again, or find the program that belongs to it",
);

/// At the end, with the lowest cut and its height.
pub fn end(cut: &Lowest, lowest: f64, setup: &Setup, found: &mut Found) {
    if let Some(said) = setup.lowest_z
        && (said - lowest).abs() > SAME
    {
        found.add(&RULE, cut.at.at(), None, || {
            format!("Z{lowest:.3}, said Z{said:.3}")
        });
    }
}
