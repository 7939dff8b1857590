//! A second tool change.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "tool-change",
    "a second tool change",
    "touch-off and length are those of one cutter",
    "make a program for each tool",
);

/// Where a tool is changed, with how often that makes it.
pub fn changed(changes: u32, at: At<'_>, found: &mut Found) {
    if changes > 1 {
        found.add(&RULE, at, None, String::new);
    }
}
