//! Units, coordinates, offsets, plane and modes: what must be said before a cut, and be what was read back.

use crate::program::fact::{StateFact, UnknownReason};
use crate::program::finding::FindingList;
use crate::program::follow::Followed;
use crate::program::motion::{FileLocation, Motion};
use crate::program::program_event::{ProgramEvent, ProgramEventKind};
use crate::program::rules::rule::rules;
use crate::program::setting::{FeedMode, LengthOffset, Plane, Units};
use crate::program::setup::Setup;

rules! {
    stop NO_UNITS = "no-units" {
        title: "neither G20 nor G21 before the first dimension",
        why: "numbers are millimetres or inches as the program before left it",
        mend: "say G21 or G20 in the first block",
    }
    stop UNITS_MIXED = "units-mixed" {
        title: "both inch and millimetre",
        why: "every number before and after means something else",
        mend: "make it one unit; look for a second program in the file",
    }
    stop UNITS_DIFFER = "units-differ" {
        title: "another unit than was read back",
        why: "all is 25.4 times too large or too small",
        mend: "make control and program the same",
    }
    stop DISTANCE_UNSET = "distance-unset" {
        title: "neither G90 nor G91 before the first move",
        why: "coordinates count from zero or from where the axes stand, as the program before left it",
        mend: "say G90 in the first block",
    }
    look PLANE_UNSET = "plane-unset" {
        title: "an arc before G17, G18 or G19",
        why: "XY is taken here; the program before may have left another plane",
        mend: "say G17 in the first block",
    }
    look PLANE_XY = "plane-xy" {
        title: "cutting arcs outside the XY plane",
        why: "a facing program has no reason to",
        mend: "look whether it is the right program",
    }
    stop OFFSET_UNSET = "offset-unset" {
        title: "no work offset named before the first cut",
        why: "it is the one that the program before left",
        mend: "say G54 (or whichever was zeroed) in the first block",
    }
    stop OFFSET_DIFFERS = "offset-differs" {
        title: "another work offset than was zeroed",
        why: "X, Y and Z are off by the difference of the two",
        mend: "make program and control the same",
    }
    stop OFFSET_WRITTEN = "offset-written" {
        title: "the program writes a work offset",
        why: "the zero you set is undone, and may stay so for the next job",
        mend: "take G10 out",
    }
    stop LENGTH_UNSET = "length-unset" {
        title: "cutting without the length offset that was active at touch-off",
        why: "Z is off by a tool's length",
        mend: "say G43 H before the first move in Z",
    }
    stop LENGTH_DIFFERS = "length-differs" {
        title: "another length offset than was read back",
        why: "touched with one and run with another is the classic crash",
        mend: "make program and control the same, and touch off again",
    }
    look LENGTH_TOOL = "length-tool" {
        title: "H is not the tool's number",
        why: "a slip of the finger when the length is another tool's",
        mend: "know why they differ",
    }
    stop SHIFT_ACTIVE = "shift-active" {
        title: "a shift (G92) is active",
        why: "the plane and the rows lie elsewhere than the zero you set",
        mend: "take G92 out, or cancel it with G92.1 before the first move",
    }
    look FEED_MODE_UNSET = "feed-mode-unset" {
        title: "no G94 before the first feed move",
        why: "feed is taken by the minute here; the program before may have left another mode",
        mend: "say G94 in the first block",
    }
    look FEED_MODE = "feed-mode" {
        title: "feed by inverse time or by turn",
        why: "F means something else from one line to the next, and the feed the plate sees is worked out from others",
        mend: "post the program with G94",
    }
    look OVERRIDE_OFF = "override-off" {
        title: "the overrides are switched off",
        why: "your hand on the feed override does nothing",
        mend: "take M49 out",
    }
    stop TOOL_WRITTEN = "tool-written" {
        title: "the program writes a tool's length",
        why: "the length that was touched off is undone, and may stay so for the next job",
        mend: "take G10 out",
    }
    look LENGTH_NONE = "length-none" {
        title: "a length offset on a machine that uses none",
        why: "what stands under that number in the control's table is added to every Z",
        mend: "take G43 and H out, or say in the shop file that length offsets are used",
    }
    look DWELL_LONG = "dwell-long" {
        title: "a wait of more than a minute",
        why: "some controls count P in seconds and some in milliseconds; the cutter may stand and rub",
        mend: "compare with the control's manual, and say in the shop file how it counts",
    }
    look CYCLE = "cycle" {
        title: "a drilling cycle in a facing program",
        why: "a facing program has no holes",
        mend: "look whether it is the right program",
    }
    note STOPS = "stops" {
        title: "stops for the operator",
        why: "the program waits for cycle start in the middle",
        mend: "know where, and why",
    }
}

/// At the first cut after something changed.
pub fn at_cut(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    offset_unset(cut, found);
    offset_differs(cut, setup, found);
    length_unset(cut, setup, found);
    length_differs(cut, setup, found);
    length_none(cut, setup, found);
    length_tool(cut, found);
    feed_mode_unset(cut, found);
    feed_mode(cut, found);
    shift_active_cut(cut, found);
    override_off(cut, found);
}

/// At an arc.
pub fn at_arc(arc: &Motion<'_>, found: &mut FindingList) {
    plane_unset(arc, found);
    plane_xy(arc, found);
}

/// Where something is not known.
pub fn at_unknown(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
    no_units(why, at, found);
    distance_unset(why, at, found);
}

/// Where a unit is set, after those before it.
pub fn at_unit(
    units: Units,
    before: &[Units],
    setup: &Setup,
    at: FileLocation<'_>,
    found: &mut FindingList,
) {
    units_mixed(units, before, at, found);
    units_differ(units, setup, at, found);
}

/// At a happening.
pub fn at_happening(happening: &ProgramEvent<'_>, found: &mut FindingList) {
    offset_written(happening, found);
    tool_written(happening, found);
    dwell_long(happening, found);
    stops(happening, found);
    cycle(happening, found);
}

/// At the end of the file.
pub fn at_end(followed: &Followed, found: &mut FindingList) {
    shift_active_end(followed, found);
}

/// Where something is not known for want of a unit.
fn no_units(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
    if why == UnknownReason::Units {
        found.once(&NO_UNITS, at, String::new);
    }
}

/// Where a unit is set, after those before it.
fn units_mixed(units: Units, before: &[Units], at: FileLocation<'_>, found: &mut FindingList) {
    if before.iter().any(|b| *b != units) {
        found.add(&UNITS_MIXED, at, None, String::new);
    }
}

/// Where a unit is set.
fn units_differ(units: Units, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    if let Some(read) = setup.units
        && read != units
    {
        found.once(&UNITS_DIFFER, at, || {
            format!("{} here, read back {}", units.symbol(), read.symbol())
        });
    }
}

/// Where something is not known since neither absolute nor incremental was said.
fn distance_unset(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
    if why == UnknownReason::Distance {
        found.once(&DISTANCE_UNSET, at, String::new);
    }
}

/// At an arc.
fn plane_unset(arc: &Motion<'_>, found: &mut FindingList) {
    if arc.setting.plane == StateFact::Unset {
        found.once(&PLANE_UNSET, arc.at, String::new);
    }
}

/// At an arc.
fn plane_xy(arc: &Motion<'_>, found: &mut FindingList) {
    if let StateFact::Known(Plane::Zx | Plane::Yz) = arc.setting.plane {
        found.once(&PLANE_XY, arc.at, String::new);
    }
}

/// At a cut.
fn offset_unset(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.work_offset == StateFact::Unset {
        found.once(&OFFSET_UNSET, cut.at, String::new);
    }
}

/// At a cut.
fn offset_differs(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    if let (Some(offset), Some(read)) = (cut.setting.work_offset.known(), setup.work_offset)
        && read != offset
    {
        found.once(&OFFSET_DIFFERS, cut.at, || {
            format!("cuts in {}, read back {}", offset.code(), read.code())
        });
    }
}

/// Where the program writes into the table of tools.
fn tool_written(happening: &ProgramEvent<'_>, found: &mut FindingList) {
    if happening.what == ProgramEventKind::ToolWritten {
        found.add(&TOOL_WRITTEN, happening.at, None, String::new);
    }
}

/// No wait in a facing program is as long, in seconds: ours, no source.
const LONG_DWELL: f64 = 60.0;

/// Where the program waits.
fn dwell_long(happening: &ProgramEvent<'_>, found: &mut FindingList) {
    if let ProgramEventKind::Dwell(StateFact::Known(seconds)) = happening.what
        && seconds > LONG_DWELL
    {
        found.add(&DWELL_LONG, happening.at, None, || {
            format!("{seconds:.0} s, {:.1} min", seconds / 60.0)
        });
    }
}

/// At a cut.
fn length_none(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    if let Some(LengthOffset::Number(number)) = cut.setting.length_offset.known()
        && setup.mill.and_then(|m| m.length_offsets) == Some(false)
        && setup.length_offset.is_none()
    {
        found.once(&LENGTH_NONE, cut.at, || format!("H{number}"));
    }
}

/// Where the program writes into the table of offsets.
fn offset_written(happening: &ProgramEvent<'_>, found: &mut FindingList) {
    if happening.what == ProgramEventKind::OffsetWritten {
        found.add(&OFFSET_WRITTEN, happening.at, None, String::new);
    }
}

/// At a cut.
fn length_unset(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    let Some(LengthOffset::Number(read)) = setup.length_offset else {
        return;
    };
    let cancelled = match cut.setting.length_offset {
        StateFact::Unset => "",
        StateFact::Known(LengthOffset::Cancelled) => ", cancelled here",
        StateFact::Known(LengthOffset::Number(_)) | StateFact::Unknown(_) => return,
    };
    found.once(&LENGTH_UNSET, cut.at, || {
        format!("read back H{read}{cancelled}")
    });
}

/// At a cut with a length offset; one without is another rule's.
fn length_differs(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    if let (Some(LengthOffset::Number(here)), Some(read)) =
        (cut.setting.length_offset.known(), setup.length_offset)
        && read != LengthOffset::Number(here)
    {
        let read = match read {
            LengthOffset::Cancelled => "none".to_owned(),
            LengthOffset::Number(read) => format!("H{read}"),
        };
        found.once(&LENGTH_DIFFERS, cut.at, || {
            format!("H{here} here, read back {read}")
        });
    }
}

/// At a cut.
fn length_tool(cut: &Motion<'_>, found: &mut FindingList) {
    if let (Some(LengthOffset::Number(length)), Some(tool)) =
        (cut.setting.length_offset.known(), cut.setting.tool.known())
        && length != tool
    {
        found.once(&LENGTH_TOOL, cut.at, || format!("H{length} with T{tool}"));
    }
}

/// At a cut.
fn shift_active_cut(cut: &Motion<'_>, found: &mut FindingList) {
    let shifted = |shift: &StateFact<f64>| {
        *shift != StateFact::Known(0.0)
            && !matches!(shift, StateFact::Unknown(cause) if cause.why != UnknownReason::Shift)
    };
    if cut.setting.shift.iter().any(shifted) {
        found.once(&SHIFT_ACTIVE, cut.at, || "at a cut".to_owned());
    }
}

/// At the end of the file, where no cut was shifted.
fn shift_active_end(followed: &Followed, found: &mut FindingList) {
    let shifted = |shift: &StateFact<f64>| shift.known().is_some_and(|s| s != 0.0);
    if followed.setting.shift.iter().any(shifted) && found.count(&SHIFT_ACTIVE) == 0 {
        found.whole(&SHIFT_ACTIVE, "at the end".to_owned());
    }
}

/// At a cut.
fn feed_mode_unset(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.feed_mode == StateFact::Unset {
        found.once(&FEED_MODE_UNSET, cut.at, String::new);
    }
}

/// At a cut.
fn feed_mode(cut: &Motion<'_>, found: &mut FindingList) {
    if let StateFact::Known(FeedMode::InverseTime | FeedMode::PerTurn) = cut.setting.feed_mode {
        found.once(&FEED_MODE, cut.at, String::new);
    }
}

/// At a cut.
fn override_off(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.overrides == StateFact::Known(false) {
        found.once(&OVERRIDE_OFF, cut.at, String::new);
    }
}

/// Where a cycle is called.
fn cycle(happening: &ProgramEvent<'_>, found: &mut FindingList) {
    if let ProgramEventKind::Cycle(number) = happening.what {
        found.once(&CYCLE, happening.at, || format!("G{number}"));
    }
}

/// Where the program stops.
fn stops(happening: &ProgramEvent<'_>, found: &mut FindingList) {
    let code = match happening.what {
        ProgramEventKind::Stop => "M0",
        ProgramEventKind::OptionalStop => "M1",
        _ => return,
    };
    found.add(&STOPS, happening.at, None, || code.to_owned());
}
