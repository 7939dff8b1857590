//! No M2 or M30.

use crate::program::finding::Found;
use crate::program::rules::list::cut_off;
use crate::program::rules::list::flow;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "no-end",
    "no M2 or M30",
    "the control stops at the end of the file with all left on, or starts again",
    "end with M30",
);

/// At the end of the file, with its end code; a file that is cut off or leads elsewhere is said to be so instead.
pub fn end(code: Option<u8>, found: &mut Found) {
    if code.is_none() && found.count(&cut_off::RULE) + found.count(&flow::RULE) == 0 {
        found.whole(&RULE, String::new());
    }
}
