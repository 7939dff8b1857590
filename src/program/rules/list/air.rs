//! Every cut stays above the plate.

use crate::program::finding::Found;
use crate::program::rules::height::Lowest;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "air",
    "every cut stays above the plate",
    "the program touches nothing; the zero or the plane is another than was meant",
    "compare the lowest Z and the work offset with what was set",
);

/// At the end, with the lowest cut and its height.
pub fn end(cut: &Lowest, lowest: f64, setup: &Setup, found: &mut Found) {
    if let Some(stock) = setup.stock_top
        && lowest >= stock - SAME
    {
        found.add(&RULE, cut.at.at(), None, || {
            format!("lowest Z{lowest:.3}, top of the stock Z{stock:.3}")
        });
    }
}
