//! A feed of nought or below.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "feed-zero",
    "a feed of nought or below",
    "the machine stands still with the cutter in the plate, or the control stops",
    "write the feed that is meant",
);

/// At a cut with a new feed, in mm/min.
pub fn cut(feed: f64, at: At<'_>, found: &mut Found) {
    if feed <= 0.0 {
        found.add(&RULE, at, None, || format!("{feed} mm/min"));
    }
}
