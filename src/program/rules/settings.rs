//! Rules about units, coordinates, offsets, plane and modes: the program must set them before a cut, and as the control
//! shows them.

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
        why: "numbers are millimetres or inches, as the program before left it",
        mend: "write G21 or G20 in the first block",
    }
    stop UNITS_MIXED = "units-mixed" {
        title: "both inch and millimetre",
        why: "the same number means something else before and after the change",
        mend: "use one unit; check whether the file holds a second program",
    }
    stop UNITS_DIFFER = "units-differ" {
        title: "another unit than the one read back",
        why: "everything is 25.4 times too large or too small",
        mend: "make control and program agree",
    }
    stop DISTANCE_UNSET = "distance-unset" {
        title: "neither G90 nor G91 before the first move",
        why: "coordinates count from zero or from the current position, as the program before left it",
        mend: "write G90 in the first block",
    }
    look PLANE_UNSET = "plane-unset" {
        title: "an arc before G17, G18 or G19",
        why: "XY is assumed here; the program before may have left another plane",
        mend: "write G17 in the first block",
    }
    look PLANE_XY = "plane-xy" {
        title: "cutting arcs outside the XY plane",
        why: "a facing program has no reason for them",
        mend: "check that it is the right program",
    }
    stop OFFSET_UNSET = "offset-unset" {
        title: "no work offset set before the first cut",
        why: "the cut uses the work offset that the program before left",
        mend: "write G54 (or the offset that was zeroed) in the first block",
    }
    stop OFFSET_DIFFERS = "offset-differs" {
        title: "another work offset than the one that was zeroed",
        why: "X, Y and Z are wrong by the difference of the two",
        mend: "make program and control agree",
    }
    stop OFFSET_WRITTEN = "offset-written" {
        title: "the program writes a work offset",
        why: "the zero you set is overwritten, and may stay so for the next job",
        mend: "remove G10",
    }
    stop LENGTH_UNSET = "length-unset" {
        title: "cutting without the length offset that was active at touch-off",
        why: "Z is wrong by a tool's length",
        mend: "write G43 H before the first move in Z",
    }
    stop LENGTH_DIFFERS = "length-differs" {
        title: "another length offset than the one read back",
        why: "to touch off with one and run with another is the classic crash",
        mend: "make program and control agree, and touch off again",
    }
    look LENGTH_TOOL = "length-tool" {
        title: "H is not the tool's number",
        why: "a typing slip, if the length is another tool's",
        mend: "know why they differ",
    }
    stop SHIFT_ACTIVE = "shift-active" {
        title: "a shift (G92) is active",
        why: "the plane and the rows are shifted from the zero you set",
        mend: "remove G92, or cancel it with G92.1 before the first move",
    }
    look FEED_MODE_UNSET = "feed-mode-unset" {
        title: "no G94 before the first feed move",
        why: "feed per minute is assumed here; the program before may have left another mode",
        mend: "write G94 in the first block",
    }
    look FEED_MODE = "feed-mode" {
        title: "feed in inverse time or per turn",
        why: "F means something else from one line to the next, and the actual feed follows from other values too",
        mend: "post the program with G94",
    }
    look OVERRIDE_OFF = "override-off" {
        title: "the overrides are switched off",
        why: "turning the feed override has no effect",
        mend: "remove M49",
    }
    stop TOOL_WRITTEN = "tool-written" {
        title: "the program writes a tool's length",
        why: "the length that was touched off is overwritten, and may stay so for the next job",
        mend: "remove G10",
    }
    look LENGTH_NONE = "length-none" {
        title: "a length offset on a machine that uses none",
        why: "the value under that number in the control's table is added to every Z",
        mend: "remove G43 and H, or state in the shop file that length offsets are used",
    }
    look DWELL_LONG = "dwell-long" {
        title: "a wait of more than a minute",
        why: "some controls count P in seconds and some in milliseconds; the cutter may stay in one place and rub",
        mend: "compare with the control's manual, and state in the shop file how it counts",
    }
    look CYCLE = "cycle" {
        title: "a drilling cycle in a facing program",
        why: "a facing program has no holes",
        mend: "check that it is the right program",
    }
    note STOPS = "stops" {
        title: "stops for the operator",
        why: "the program waits for cycle start in the middle",
        mend: "know where it stops, and why",
    }
}

/// Checks the first cut after a change of the modal state.
pub(crate) fn at_cut(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
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

/// Checks an arc.
pub(crate) fn at_arc(arc: &Motion<'_>, found: &mut FindingList) {
    plane_unset(arc, found);
    plane_xy(arc, found);
}

/// Checks the reason why something became unknown.
pub(crate) fn at_unknown(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
    no_units(why, at, found);
    distance_unset(why, at, found);
}

/// Checks a unit that the program sets; `before` holds the units set earlier.
pub(crate) fn at_unit(
    units: Units,
    before: &[Units],
    setup: &Setup,
    at: FileLocation<'_>,
    found: &mut FindingList,
) {
    units_mixed(units, before, at, found);
    units_differ(units, setup, at, found);
}

/// Checks an event.
pub(crate) fn at_event(event: &ProgramEvent<'_>, found: &mut FindingList) {
    offset_written(event, found);
    tool_written(event, found);
    dwell_long(event, found);
    stops(event, found);
    cycle(event, found);
}

/// Checks the modal state at the end of the file.
pub(crate) fn at_end(followed: &Followed, found: &mut FindingList) {
    shift_active_end(followed, found);
}

/// Reports dimensions without a unit.
fn no_units(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
    if why == UnknownReason::Units {
        found.once(&NO_UNITS, at, String::new);
    }
}

/// Checks a unit against those set before it.
fn units_mixed(units: Units, before: &[Units], at: FileLocation<'_>, found: &mut FindingList) {
    if before.iter().any(|b| *b != units) {
        found.add(&UNITS_MIXED, at, None, String::new);
    }
}

/// Checks a unit against the one read back.
fn units_differ(units: Units, setup: &Setup, at: FileLocation<'_>, found: &mut FindingList) {
    if let Some(read) = setup.units
        && read != units
    {
        found.once(&UNITS_DIFFER, at, || {
            format!("{} here, read back {}", units.symbol(), read.symbol())
        });
    }
}

/// Reports coordinates for which neither absolute nor incremental mode was set.
fn distance_unset(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
    if why == UnknownReason::Distance {
        found.once(&DISTANCE_UNSET, at, String::new);
    }
}

/// Checks that a plane is set at an arc.
fn plane_unset(arc: &Motion<'_>, found: &mut FindingList) {
    if arc.setting.plane == StateFact::Unset {
        found.once(&PLANE_UNSET, arc.at, String::new);
    }
}

/// Checks that an arc is in the XY plane.
fn plane_xy(arc: &Motion<'_>, found: &mut FindingList) {
    if let StateFact::Known(Plane::Zx | Plane::Yz) = arc.setting.plane {
        found.once(&PLANE_XY, arc.at, String::new);
    }
}

/// Checks that a work offset is set at a cut.
fn offset_unset(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.work_offset == StateFact::Unset {
        found.once(&OFFSET_UNSET, cut.at, String::new);
    }
}

/// Checks the work offset of a cut against the one read back.
fn offset_differs(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    if let (Some(offset), Some(read)) = (cut.setting.work_offset.known(), setup.work_offset)
        && read != offset
    {
        found.once(&OFFSET_DIFFERS, cut.at, || {
            format!("cuts in {}, read back {}", offset.code(), read.code())
        });
    }
}

/// Reports that the program writes into the tool table.
fn tool_written(event: &ProgramEvent<'_>, found: &mut FindingList) {
    if event.what == ProgramEventKind::ToolWritten {
        found.add(&TOOL_WRITTEN, event.at, None, String::new);
    }
}

/// No wait in a facing program is this long, in seconds: ours, no source.
const LONG_DWELL: f64 = 60.0;

/// Checks the duration of a wait.
fn dwell_long(event: &ProgramEvent<'_>, found: &mut FindingList) {
    if let ProgramEventKind::Dwell(StateFact::Known(seconds)) = event.what
        && seconds > LONG_DWELL
    {
        found.add(&DWELL_LONG, event.at, None, || {
            format!("{seconds:.0} s, {:.1} min", seconds / 60.0)
        });
    }
}

/// Checks a cut for a length offset on a machine that uses none.
fn length_none(cut: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    if let Some(LengthOffset::Number(number)) = cut.setting.length_offset.known()
        && setup.mill.and_then(|m| m.length_offsets) == Some(false)
        && setup.length_offset.is_none()
    {
        found.once(&LENGTH_NONE, cut.at, || format!("H{number}"));
    }
}

/// Reports that the program writes into the table of offsets.
fn offset_written(event: &ProgramEvent<'_>, found: &mut FindingList) {
    if event.what == ProgramEventKind::OffsetWritten {
        found.add(&OFFSET_WRITTEN, event.at, None, String::new);
    }
}

/// Checks that the length offset read back is active at a cut.
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

/// Checks the length offset of a cut; a cut without one has another rule.
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

/// Compares the length offset of a cut with the number of its tool.
fn length_tool(cut: &Motion<'_>, found: &mut FindingList) {
    if let (Some(LengthOffset::Number(length)), Some(tool)) =
        (cut.setting.length_offset.known(), cut.setting.tool.known())
        && length != tool
    {
        found.once(&LENGTH_TOOL, cut.at, || format!("H{length} with T{tool}"));
    }
}

/// Checks a cut for a shift.
fn shift_active_cut(cut: &Motion<'_>, found: &mut FindingList) {
    let shifted = |shift: &StateFact<f64>| {
        *shift != StateFact::Known(0.0)
            && !matches!(shift, StateFact::Unknown(cause) if cause.why != UnknownReason::Shift)
    };
    if cut.setting.shift.iter().any(shifted) {
        found.once(&SHIFT_ACTIVE, cut.at, || "at a cut".to_owned());
    }
}

/// Checks for a shift at the end of the file, where no cut was shifted.
fn shift_active_end(followed: &Followed, found: &mut FindingList) {
    let shifted = |shift: &StateFact<f64>| shift.known().is_some_and(|s| s != 0.0);
    if followed.setting.shift.iter().any(shifted) && found.count(&SHIFT_ACTIVE) == 0 {
        found.whole(&SHIFT_ACTIVE, "at the end".to_owned());
    }
}

/// Checks that a feed mode is set at a cut.
fn feed_mode_unset(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.feed_mode == StateFact::Unset {
        found.once(&FEED_MODE_UNSET, cut.at, String::new);
    }
}

/// Checks the feed mode of a cut.
fn feed_mode(cut: &Motion<'_>, found: &mut FindingList) {
    if let StateFact::Known(FeedMode::InverseTime | FeedMode::PerTurn) = cut.setting.feed_mode {
        found.once(&FEED_MODE, cut.at, String::new);
    }
}

/// Checks that the overrides are on at a cut.
fn override_off(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.setting.overrides == StateFact::Known(false) {
        found.once(&OVERRIDE_OFF, cut.at, String::new);
    }
}

/// Reports a drilling cycle.
fn cycle(event: &ProgramEvent<'_>, found: &mut FindingList) {
    if let ProgramEventKind::Cycle(number) = event.what {
        found.once(&CYCLE, event.at, || format!("G{number}"));
    }
}

/// Reports a stop for the operator.
fn stops(event: &ProgramEvent<'_>, found: &mut FindingList) {
    let code = match event.what {
        ProgramEventKind::Stop => "M0",
        ProgramEventKind::OptionalStop => "M1",
        _ => return,
    };
    found.add(&STOPS, event.at, None, || code.to_owned());
}
