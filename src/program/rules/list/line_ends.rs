//! Line ends of more than one kind.

use crate::program::finding::Found;
use crate::program::follow::Followed;
use crate::program::rules::rule::{Rule, note};

/// What it is.
pub const RULE: Rule = note(
    "line-ends",
    "line ends of more than one kind",
    "the file was put together or sent through several systems; some controls skip or join lines",
    "write it again with one kind",
);

/// At the end of the file.
pub fn end(followed: &Followed, found: &mut Found) {
    if followed.ends.mixed() {
        found.whole(&RULE, String::new());
    }
}
