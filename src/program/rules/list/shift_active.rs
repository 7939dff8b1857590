//! A shift (G92) is active.

use crate::program::fact::Fact;
use crate::program::fact::Why;
use crate::program::finding::Found;
use crate::program::follow::Followed;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "shift-active",
    "a shift (G92) is active",
    "the plane and the rows lie elsewhere than the zero you set",
    "take G92 out, or cancel it with G92.1 before the first move",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    let shifted = |shift: &Fact<f64>| {
        *shift != Fact::Known(0.0)
            && !matches!(shift, Fact::Unknown(cause) if cause.why != Why::Shift)
    };
    if cut.setting.shift.iter().any(shifted) {
        found.once(&RULE, cut.at, || "at a cut".to_owned());
    }
}

/// At the end of the file, where no cut was shifted.
pub fn end(followed: &Followed, found: &mut Found) {
    let shifted = |shift: &Fact<f64>| shift.known().is_some_and(|s| s != 0.0);
    if followed.setting.shift.iter().any(shifted) && found.count(&RULE) == 0 {
        found.whole(&RULE, "at the end".to_owned());
    }
}
