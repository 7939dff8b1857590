//! An arc whose centre fits only as absolute.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "arc-absolute",
    "an arc whose centre fits only as absolute",
    "I and J count from the start of the arc unless the control is told otherwise; read so, this arc runs somewhere else",
    "post the program for incremental centres, or say in the shop file that this control takes absolute ones",
);
