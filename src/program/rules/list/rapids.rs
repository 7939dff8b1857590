//! Rapids near the metal.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "rapid-dip",
        "a rapid goes down and sideways at once",
        "the axes run independently on many machines: down first, then across",
        "X and Y first, then Z, in two blocks",
    ),
    stop(
        "rapid-low",
        "a rapid across at cutting height",
        "at the traverse rate through metal, a clamp or a burr",
        "lift Z before every rapid in X or Y",
    ),
    stop(
        "rapid-plunge",
        "a rapid down to cutting height",
        "in stock that breaks the cutter; and overrides are lowest where nobody expects them to matter",
        "stop the rapid above the plate and feed the rest",
    ),
];
