//! Decimal points in dimensions.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "decimal-comma",
        "a decimal comma",
        "a control reads the number up to the comma, or refuses it",
        "post the program with decimal points",
    ),
    look(
        "digits",
        "more digits than a control keeps",
        "what it does with the rest is not known",
        "round to the fourth decimal",
    ),
    look(
        "mixed-points",
        "dimensions with and without decimal point",
        "on some controls a dimension without point counts in thousandths: X10 is 0.01",
        "write all with a point, or say in the shop file how the control reads them",
    ),
    stop(
        "no-point",
        "a dimension without decimal point",
        "this control counts it in its least increment, or refuses it",
        "write the point",
    ),
];
