//! A code that is understood but not followed.

use crate::program::rules::rule::{Rule, unsure};

/// What it is.
pub const RULE: Rule = unsure(
    "not-followed",
    "a code that is understood but not followed",
    "compensation, scaling, rotation, probing and some cycles change where the cutter goes in ways not worked out here",
    "post the program without it, or have it proven on the machine in air",
);
