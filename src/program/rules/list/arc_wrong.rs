//! An arc that cannot be.

use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "arc-wrong",
    "an arc that cannot be",
    "start, end and centre or radius do not belong together; controls stop in the cut, or run an arc nobody meant",
    "post the program again; look for a lost digit or sign in this block and the one before",
);
