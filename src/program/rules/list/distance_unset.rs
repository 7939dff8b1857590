//! Neither G90 nor G91 before the first move.

use crate::program::fact::Why;
use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "distance-unset",
    "neither G90 nor G91 before the first move",
    "coordinates count from zero or from where the axes stand, as the program before left it",
    "say G90 in the first block",
);

/// Where something is not known since neither absolute nor incremental was said.
pub fn unknown(why: Why, at: At<'_>, found: &mut Found) {
    if why == Why::Distance {
        found.once(&RULE, at, String::new);
    }
}
