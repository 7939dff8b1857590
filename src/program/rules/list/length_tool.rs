//! H is not the tool's number.

use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};
use crate::program::setting::LengthOffset;

/// What it is.
pub const RULE: Rule = look(
    "length-tool",
    "H is not the tool's number",
    "a slip of the finger when the length is another tool's",
    "know why they differ",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if let (Some(LengthOffset::Number(length)), Some(tool)) =
        (cut.setting.length_offset.known(), cut.setting.tool.known())
        && length != tool
    {
        found.once(&RULE, cut.at, || format!("H{length} with T{tool}"));
    }
}
