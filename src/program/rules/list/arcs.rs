//! Arcs that do not fit.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "arc-absolute",
        "an arc whose centre fits only as absolute",
        "I and J count from the start of the arc unless the control is told otherwise; read so, this arc runs somewhere else",
        "post the program for incremental centres, or say in the shop file that this control takes absolute ones",
    ),
    look(
        "arc-mismatch",
        "an arc whose radius differs between start and end",
        "some controls refuse it in the middle of the cut, others blend the difference in",
        "post the program with more decimals, or with radius words",
    ),
    look(
        "arc-radius",
        "an arc by radius near a half or a full turn",
        "a rounding of the last digit moves its centre by far",
        "give I and J instead, or cut the arc in two",
    ),
    stop(
        "arc-wrong",
        "an arc that cannot be",
        "start, end and centre or radius do not belong together; controls stop in the cut, or run an arc nobody meant",
        "post the program again; look for a lost digit or sign in this block and the one before",
    ),
];
