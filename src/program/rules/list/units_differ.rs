//! Another unit than was read back.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setting::Units;
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "units-differ",
    "another unit than was read back",
    "all is 25.4 times too large or too small",
    "make control and program the same",
);

/// Where a unit is set.
pub fn set(units: Units, setup: &Setup, at: At<'_>, found: &mut Found) {
    if let Some(read) = setup.units
        && read != units
    {
        found.once(&RULE, at, || {
            format!("{} here, read back {}", units.symbol(), read.symbol())
        });
    }
}
