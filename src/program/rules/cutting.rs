//! Feed, speed, spindle, coolant and tool at a cut.

use crate::program::detail::Detail;
use crate::program::detail::Figure::{Feed, Length};
use crate::program::fact::StateFact;
use crate::program::finding::FindingList;
use crate::program::motion::{FileLocation, Motion};
use crate::program::rules::rule::rules;
use crate::program::setting::{Spindle, Units};
use crate::program::setup::Setup;

rules! {
    stop FEED_UNSET = "feed-unset" {
        title: "a feed move without feed",
        why: "the feed is the one that the program before left, or zero",
        mend: "write F with the first G1",
    }
    stop FEED_ZERO = "feed-zero" {
        title: "a feed of zero or below",
        why: "the axes stand still with the cutter in the plate, or the control stops",
        mend: "write the intended feed",
    }
    look FEED_LOW = "feed-low" {
        title: "a feed below 10 mm/min",
        why: "a feed per turn looks like this when it is read per minute; the cutter rubs",
        mend: "check G93, G94, G95 and the unit",
    }
    stop FEED_HIGH = "feed-high" {
        title: "a feed above the machine's highest",
        why: "the machine does not reach it, or the control stops",
        mend: "lower F, and check the units",
    }
    look CHIP_LOAD = "chip-load" {
        title: "a chip load outside the cutter's range",
        why: "too small a chip load rubs and heats the cutter, too large a one breaks teeth",
        mend: "change feed or speed",
    }
    stop SPEED_UNSET = "speed-unset" {
        title: "no speed before the cut, or zero",
        why: "M3 alone turns the spindle at the speed that the program before left, or not at all",
        mend: "write S before M3",
    }
    stop SPEED_HIGH = "speed-high" {
        title: "a speed above the limit of cutter or machine",
        why: "a cutter that bursts throws its pieces",
        mend: "write a lower S",
    }
    stop SPEED_LOW = "speed-low" {
        title: "a speed below the machine's lowest",
        why: "the spindle stalls or does not start",
        mend: "write a higher S",
    }
    stop SPINDLE_OFF = "spindle-off" {
        title: "a feed move with the spindle stopped",
        why: "the cutter is pushed through the plate",
        mend: "write M3 after the tool change and before the first move down; M5 acts before the move of its block",
    }
    look SPINDLE_LEFT = "spindle-left" {
        title: "the spindle turns counter-clockwise",
        why: "nearly every cutter cuts clockwise only",
        mend: "write M3, unless the cutter is a left-hand one",
    }
    look COOLANT_OFF = "coolant-off" {
        title: "cutting without coolant",
        why: "aluminium welds itself to a dry cutter",
        mend: "turn coolant on before the cut, or know why it is off",
    }
    stop TOOL_DIFFERS = "tool-differs" {
        title: "another tool than the one stated",
        why: "the cutter that was touched off is not the one the program calls",
        mend: "make the two agree",
    }
    stop TOOL_CHANGE = "tool-change" {
        title: "a second tool change",
        why: "touch-off and length belong to one cutter",
        mend: "make a program for each tool",
    }
    look TOOL_MISSING = "tool-missing" {
        title: "a tool change without a tool number",
        why: "the control changes to the tool that was called last, perhaps by another program",
        mend: "write T before M6, or remove M6",
    }
    look CUTTER_COMMENT = "cutter-comment" {
        title: "a comment names another diameter than the chosen cutter has",
        why: "rows made for another cutter leave ridges, or cut wider than intended",
        mend: "find the program for this cutter, or correct the comment",
    }
    note TOOL_UNCHANGED = "tool-unchanged" {
        title: "a tool is called but not changed",
        why: "T alone only prepares the change; the spindle may hold another tool",
        mend: "write M6, or remove T",
    }
}

/// What is known about the tool at a cut or a tool change.
#[derive(Clone, Copy, Default, Debug)]
pub(crate) struct ToolCalls {
    /// The tool called last.
    pub called: Option<u32>,
    /// Number of tool changes so far.
    pub changes: u32,
}

/// Checks the first cut after a change of the modal state.
pub(crate) fn at_cut(cut: &Motion<'_>, tool: ToolCalls, setup: &Setup, found: &mut FindingList) {
    spindle_off(cut, found);
    spindle_left(cut, found);
    speed_unset(cut, found);
    coolant_off(cut, setup, found);
    tool_unchanged(tool.called, tool.changes, cut.at, found);
}

/// Checks a cut with a new feed, in mm/min.
pub(crate) fn at_feed(feed: f64, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    feed_zero(feed, at, found);
    feed_low(feed, at, found);
    feed_high(feed, setup, at, found);
}

/// Checks a cut with a speed that may be new, in rpm.
pub(crate) fn at_speed(speed: f64, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    speed_high(speed, setup, at, found);
    speed_low(speed, setup, at, found);
}

/// Checks a cut across with a speed that may be new, in rpm.
pub(crate) fn at_cut_across(cut: &Motion<'_>, speed: f64, setup: &Setup, found: &mut FindingList) {
    chip_load(cut, speed, setup, found);
}

/// Checks a tool change; `to` is the new tool, if the program called one.
pub(crate) fn at_tool_change(
    to: StateFact<u32>,
    tool: ToolCalls,
    setup: &Setup,
    at: FileLocation<'_>,
    found: &mut FindingList,
) {
    tool_change(tool.changes, at, found);
    tool_missing(to, at, found);
    tool_differs(to.known(), setup, at, found);
}

/// Checks a comment, by the diameter in mm that it names.
pub(crate) fn at_comment(
    named: Option<f64>,
    setup: &Setup,
    at: FileLocation<'_>,
    found: &mut FindingList,
) {
    cutter_comment(named, setup, at, found);
}

/// Checks a tool change for a tool that was called.
fn tool_missing(to: StateFact<u32>, at: FileLocation<'_>, found: &mut FindingList) {
    if to.is_unset() {
        found.add(&TOOL_MISSING, at, None, String::new);
    }
}

/// Diameters that differ by less are equal, in mm: names are rounded (ours, no source).
const NAMED: f64 = 0.1;

/// Checks a comment that names the diameter of a cutter.
fn cutter_comment(
    named: Option<f64>,
    setup: &Setup,
    at: FileLocation<'_>,
    found: &mut FindingList,
) {
    let Some(cutter) = setup.cutter else {
        return;
    };
    if let Some(named) = named
        && (named - cutter.diameter).abs() > NAMED
    {
        found.add(&CUTTER_COMMENT, at, None, || {
            Detail::with(
                "{}, the chosen cutter has {}",
                &[Length(named), Length(cutter.diameter)],
            )
        });
    }
}

/// The diameter that a comment names (`D=12`, `DIA 12`, `12 MM END MILL`), in mm; without a unit it is read in the
/// program's unit.
pub(crate) fn named_diameter(comment: &[u8], units: StateFact<Units>) -> Option<f64> {
    const NOUNS: [&str; 6] = [
        "END MILL",
        "ENDMILL",
        "FACE MILL",
        "FACEMILL",
        "SHELL MILL",
        "CUTTER",
    ];
    let number = |text: &str| -> Option<(f64, f64)> {
        let digits = text.find(|c: char| !(c.is_ascii_digit() || c == '.'));
        let (digits, rest) = text.split_at(digits.unwrap_or(text.len()));
        let value: f64 = digits.parse().ok()?;
        let rest = rest.trim_start_matches([' ', '-']);
        let unit = if rest.starts_with("MM") {
            Some(1.0)
        } else if rest.starts_with("IN") || rest.starts_with('"') {
            Some(25.4)
        } else {
            None
        };
        Some((value, unit.or(units.known().map(Units::mm))?))
    };
    let comment = String::from_utf8_lossy(comment).to_ascii_uppercase();
    for key in ["D=", "DIA"] {
        if let Some((before, after)) = comment.split_once(key)
            && !before.ends_with(|c: char| c.is_ascii_alphanumeric())
        {
            let after = after.trim_start_matches(|c: char| c.is_ascii_alphabetic());
            if let Some((value, unit)) = number(after.trim_start_matches([' ', '=', ':', '.'])) {
                return Some(value * unit);
            }
        }
    }
    let noun = NOUNS.iter().filter_map(|n| comment.find(n)).min()?;
    let before = comment.get(..noun)?;
    let unit = before.rfind("MM").or_else(|| before.rfind("IN"))?;
    let value = before.get(..unit)?.trim_end_matches([' ', '-']);
    let start = value
        .rfind(|c: char| !(c.is_ascii_digit() || c == '.'))
        .map_or(0, |n| n + 1);
    number(comment.get(start..)?).map(|(value, unit)| value * unit)
}

/// Checks that a cut has a feed.
pub(crate) fn feed_unset(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.feed == StateFact::Unset {
        found.once(&FEED_UNSET, cut.at, String::new);
    }
}

/// Checks the new feed of a cut, in mm/min.
fn feed_zero(feed: f64, at: FileLocation<'_>, found: &mut FindingList) {
    if feed <= 0.0 {
        found.add(&FEED_ZERO, at, None, || Detail::with("{}", &[Feed(feed)]));
    }
}

/// Below this, in mm/min, a feed is more likely a slip than intended: common practice, no source.
const LOW: f64 = 10.0;

/// Checks the new feed of a cut, in mm/min.
fn feed_low(feed: f64, at: FileLocation<'_>, found: &mut FindingList) {
    if feed > 0.0 && feed < LOW {
        found.add(&FEED_LOW, at, None, || Detail::with("{}", &[Feed(feed)]));
    }
}

/// Checks the new feed of a cut, in mm/min.
fn feed_high(feed: f64, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    if let Some(highest) = setup.mill.and_then(|m| m.highest_feed)
        && feed > highest * (1.0 + 1e-9)
    {
        found.add(&FEED_HIGH, at, None, || {
            Detail::with("{}, highest {}", &[Feed(feed), Feed(highest)])
        });
    }
}

/// Checks a cut across at `speed` rpm. The move down is slower on purpose, so it is not checked.
///
/// Feed per tooth is feed / (speed x teeth); `speeds` has the source.
fn chip_load(cut: &Motion<'_>, speed: f64, setup: &Setup, found: &mut FindingList) {
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
            found.once(&CHIP_LOAD, cut.at, || {
                Detail::with(
                    &format!("{{}} / ({speed:.0} rpm x {teeth:.0}) = {{}}, range {{}} to {{}}"),
                    &[Feed(feed), Length(load), Length(least), Length(most)],
                )
            });
        }
    }
}

/// Checks that a cut has a spindle speed.
fn speed_unset(cut: &Motion<'_>, found: &mut FindingList) {
    let said = match cut.setting.speed {
        StateFact::Unset => "no S",
        StateFact::Known(0.0) => "S0",
        StateFact::Known(_) | StateFact::Unknown(_) => return,
    };
    found.once(&SPEED_UNSET, cut.at, || said.to_owned());
}

/// Checks a cut at `speed` rpm.
fn speed_high(speed: f64, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    let highest = [
        setup.mill.and_then(|m| m.speeds).map(|s| s[1]),
        setup.cutter.and_then(|c| c.highest_speed),
    ];
    let highest = highest.into_iter().flatten().fold(f64::INFINITY, f64::min);
    if speed > highest * (1.0 + 1e-9) {
        found.once(&SPEED_HIGH, at, || {
            format!("S{speed:.0}, highest {highest:.0}")
        });
    }
}

/// Checks a cut at `speed` rpm.
fn speed_low(speed: f64, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    if let Some([lowest, _]) = setup.mill.and_then(|m| m.speeds)
        && speed > 0.0
        && speed < lowest * (1.0 - 1e-9)
    {
        found.once(&SPEED_LOW, at, || {
            format!("S{speed:.0}, lowest {lowest:.0}")
        });
    }
}

/// Checks that the spindle turns at a cut.
fn spindle_off(cut: &Motion<'_>, found: &mut FindingList) {
    if let StateFact::Known(Spindle::Stopped) | StateFact::Unset = cut.setting.spindle {
        found.once(&SPINDLE_OFF, cut.at, String::new);
    }
}

/// Checks the direction of the spindle at a cut.
fn spindle_left(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.spindle == StateFact::Known(Spindle::CounterClockwise) {
        found.once(&SPINDLE_LEFT, cut.at, String::new);
    }
}

/// Checks that coolant is on at a cut.
fn coolant_off(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    let dry = match cut.setting.coolant {
        StateFact::Known(coolant) => !coolant.on(),
        StateFact::Unset => true,
        StateFact::Unknown(_) => false,
    };
    if dry && setup.mill.and_then(|m| m.coolant).unwrap_or(true) {
        found.once(&COOLANT_OFF, cut.at, String::new);
    }
}

/// Checks the tool that the program calls.
fn tool_differs(tool: Option<u32>, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    if let (Some(called), Some(said)) = (tool, setup.tool)
        && called != said
    {
        found.add(&TOOL_DIFFERS, at, None, || {
            format!("T{called}, stated T{said}")
        });
    }
}

/// Checks a tool change; `changes` includes this one.
fn tool_change(changes: u32, at: FileLocation<'_>, found: &mut FindingList) {
    if changes > 1 {
        found.add(&TOOL_CHANGE, at, None, String::new);
    }
}

/// Checks at a cut that the tool called last was changed to; `changes` is the number of tool changes.
fn tool_unchanged(
    called: Option<u32>,
    changes: u32,
    at: FileLocation<'_>,
    found: &mut FindingList,
) {
    if let (Some(called), 0) = (called, changes) {
        found.once(&TOOL_UNCHANGED, at, || format!("T{called}"));
    }
}
