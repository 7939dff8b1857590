//! A feed above the machine's highest.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "feed-high",
    "a feed above the machine's highest",
    "it is not reached, or the control stops",
    "lower F, and look at the units",
);

/// At a cut with a new feed, in mm/min.
pub fn cut(feed: f64, setup: &Setup, at: At<'_>, found: &mut Found) {
    if let Some(highest) = setup.mill.and_then(|m| m.highest_feed)
        && feed > highest * (1.0 + 1e-9)
    {
        found.add(&RULE, at, None, || {
            format!("{feed:.0} mm/min, highest {highest:.0}")
        });
    }
}
