//! Neither G20 nor G21 before the first dimension.

use crate::program::fact::Why;
use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "no-units",
    "neither G20 nor G21 before the first dimension",
    "numbers are millimetres or inches as the program before left it",
    "say G21 or G20 in the first block",
);

/// Where something is not known for want of a unit.
pub fn unknown(why: Why, at: At<'_>, found: &mut Found) {
    if why == Why::Units {
        found.once(&RULE, at, String::new);
    }
}
