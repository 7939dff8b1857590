//! Rows further apart than the cutter's flat is wide.

use crate::program::finding::Found;
use crate::program::rules::extent::Rows;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "step-over",
    "rows further apart than the cutter's flat is wide",
    "a ridge is left standing between the rows",
    "narrow the rows, or take a larger cutter",
);

/// At the end, with the rows.
pub fn end(rows: Rows, setup: &Setup, found: &mut Found) {
    let (Some(step), Some(cutter)) = (rows.step, setup.cutter) else {
        return;
    };
    let flat = 2.0 * cutter.flat_radius();
    if step > flat + SAME {
        found.whole(
            &RULE,
            format!(
                "{step:.3} mm, the flat is {:.3} - 2 x {:.3} = {flat:.3}",
                cutter.diameter, cutter.corner
            ),
        );
    }
}
