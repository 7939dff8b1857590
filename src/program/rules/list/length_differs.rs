//! Another length offset than was read back.

use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setting::LengthOffset;
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "length-differs",
    "another length offset than was read back",
    "touched with one and run with another is the classic crash",
    "make program and control the same, and touch off again",
);

/// At a cut with a length offset; one without is another rule's.
pub fn cut(cut: &Motion<'_>, setup: &Setup, found: &mut Found) {
    if let (Some(LengthOffset::Number(here)), Some(read)) =
        (cut.setting.length_offset.known(), setup.length_offset)
        && read != LengthOffset::Number(here)
    {
        let read = match read {
            LengthOffset::Cancelled => "none".to_owned(),
            LengthOffset::Number(read) => format!("H{read}"),
        };
        found.once(&RULE, cut.at, || format!("H{here} here, read back {read}"));
    }
}
