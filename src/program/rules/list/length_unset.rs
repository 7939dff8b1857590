//! Cutting without the length offset that was active at touch-off.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};
use crate::program::setting::LengthOffset;
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = stop(
    "length-unset",
    "cutting without the length offset that was active at touch-off",
    "Z is off by a tool's length",
    "say G43 H before the first move in Z",
);

/// At a cut.
pub fn cut(cut: &Motion<'_>, setup: &Setup, found: &mut Found) {
    let Some(LengthOffset::Number(read)) = setup.length_offset else {
        return;
    };
    let cancelled = match cut.setting.length_offset {
        Fact::Unset => "",
        Fact::Known(LengthOffset::Cancelled) => ", cancelled here",
        Fact::Known(LengthOffset::Number(_)) | Fact::Unknown(_) => return,
    };
    found.once(&RULE, cut.at, || format!("read back H{read}{cancelled}"));
}
