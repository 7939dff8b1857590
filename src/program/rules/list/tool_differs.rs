//! Another tool than was said.

use crate::program::finding::Found;
use crate::program::motion::At;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "tool-differs",
    "another tool than was said",
    "the cutter that was touched off is not the one the program calls",
    "make them the same",
);

/// Where a tool is called.
pub fn called(tool: Option<u32>, setup: &Setup, at: At<'_>, found: &mut Found) {
    if let (Some(called), Some(said)) = (tool, setup.tool)
        && called != said
    {
        found.add(&RULE, at, None, || format!("T{called}, said T{said}"));
    }
}
