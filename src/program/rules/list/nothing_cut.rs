//! No feed move in the whole file.

use crate::program::finding::Found;
use crate::program::rules::list::no_end;
use crate::program::rules::rule::Grade;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "nothing-cut",
    "no feed move in the whole file",
    "this is no facing program, or nothing of it could be read",
    "look whether it is the right file",
);

/// At the end, with the lowest cut; where nothing else says why there is none.
pub fn end(lowest: Option<f64>, found: &mut Found) {
    let explained = found.any(|r| r.grade == Grade::Stop && r != &no_end::RULE);
    if lowest.is_none() && !explained {
        found.whole(&RULE, String::new());
    }
}
