//! Dimensions with and without decimal point.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "mixed-points",
    "dimensions with and without decimal point",
    "on some controls a dimension without point counts in thousandths: X10 is 0.01",
    "write all with a point, or say in the shop file how the control reads them",
);
