//! A feed below 10 mm/min.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "feed-low",
    "a feed below 10 mm/min",
    "this is what a feed per turn looks like when it is read per minute; the cutter rubs",
    "look at G93, G94, G95 and the unit",
);

/// Below this a feed is more likely a slip than meant, in mm/min: common practice, no source.
const LOW: f64 = 10.0;

/// At a cut with a new feed, in mm/min.
pub fn cut(feed: f64, at: At<'_>, found: &mut Found) {
    if feed > 0.0 && feed < LOW {
        found.add(&RULE, at, None, || format!("{feed:.3} mm/min"));
    }
}
