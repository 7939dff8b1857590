//! A tool is called and not changed.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "tool-unchanged",
    "a tool is called and not changed",
    "T alone only makes ready; the spindle may hold another",
    "say M6, or take T out",
);

/// At a cut, with the tool that was called and how often one was changed.
pub fn cut(called: Option<u32>, changes: u32, at: At<'_>, found: &mut Found) {
    if let (Some(called), 0) = (called, changes) {
        found.once(&RULE, at, || format!("T{called}"));
    }
}
