//! Another work offset than was zeroed.

use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "offset-differs",
    "another work offset than was zeroed",
    "X, Y and Z are off by the difference of the two",
    "make program and control the same",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, setup: &Setup, found: &mut Found) {
    if let (Some(offset), Some(read)) = (cut.setting.work_offset.known(), setup.work_offset)
        && read != offset
    {
        found.once(&RULE, cut.at, || {
            format!("cuts in {}, read back {}", offset.code(), read.code())
        });
    }
}
