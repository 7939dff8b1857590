//! A chip load outside the cutter's range.

use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};
use crate::program::setup::Setup;

/// What it is.
pub const RULE: Rule = look(
    "chip-load",
    "a chip load outside the cutter's range",
    "too small rubs and heats, too large breaks teeth",
    "change feed or speed",
);

/// At a cut across, at `speed` turns a minute. The way down is slower on purpose, so it is not judged.
///
/// Feed a tooth is feed / (speed x teeth); `cutting::speeds` has the source.
pub fn across(cut: &Motion<'_>, speed: f64, setup: &Setup, found: &mut Found) {
    let Some(cutter) = setup.cutter else {
        return;
    };
    if let (Some(teeth), Some([least, most]), Some(feed)) =
        (cutter.teeth, cutter.chip_load, cut.feed.known())
        && speed > 0.0
        && feed > 0.0
    {
        let load = feed / (speed * teeth);
        if load < least * (1.0 - 1e-9) || load > most * (1.0 + 1e-9) {
            found.once(&RULE, cut.at, || {
                format!(
                    "{feed:.0} mm/min / ({speed:.0} rpm x {teeth:.0}) = {load:.4} mm, range {least} to {most}"
                )
            });
        }
    }
}
