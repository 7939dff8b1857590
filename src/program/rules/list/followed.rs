//! What is not followed.

use crate::program::rules::rule::{Rule, unsure};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    unsure(
        "flow",
        "flow control, a macro or a call that is not followed",
        "which blocks run, and how often, is decided on the control; nothing after it can be vouched for",
        "post the program without it, or have the program proven on the machine in air",
    ),
    unsure(
        "not-followed",
        "a code that is understood but not followed",
        "compensation, scaling, rotation, probing and some cycles change where the cutter goes in ways not worked out here",
        "post the program without it, or have it proven on the machine in air",
    ),
];
