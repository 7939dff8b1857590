//! Rules about the lowest height of the cutter, how it gets there, and what it does at that height.

use crate::program::detail::Detail;
use crate::program::detail::Figure::Length;
use crate::program::fact::{StateFact, UnknownReason};
use crate::program::finding::FindingList;
use crate::program::motion::{Coord, Motion};
use crate::program::rules::rule::rules;
use crate::program::rules::watch::height::{Descent, Lowest, SAME};
use crate::program::setup::Setup;

rules! {
    stop DEPTH = "depth" {
        title: "the lowest cut is not at the stated Z",
        why: "the entry for the readout is computed from it; the plate is cut too deep or too shallow by the difference",
        mend: "read the lowest Z again, or find the program that belongs to it",
    }
    stop AIR = "air" {
        title: "every cut stays above the plate",
        why: "the program cuts nothing; the zero or the plane is not the intended one",
        mend: "compare the lowest Z and the work offset with the values that were set",
    }
    stop BITE = "bite" {
        title: "a bite deeper than the cutter can take",
        why: "the cutter breaks, or lifts the plate",
        mend: "raise the plane, or take more passes",
    }
    stop RAPID_LOW = "rapid-low" {
        title: "a rapid across at cutting height",
        why: "the cutter goes through metal, a clamp or a burr at the traverse rate",
        mend: "lift Z before every rapid in X or Y",
    }
    stop RAPID_PLUNGE = "rapid-plunge" {
        title: "a rapid down to cutting height",
        why: "in the stock this breaks the cutter, at a place where nobody expects to need the override",
        mend: "stop the rapid above the plate, and feed the rest of the way",
    }
    look RAPID_DIP = "rapid-dip" {
        title: "a rapid goes down and sideways at the same time",
        why: "on many machines the axes run independently: the cutter may go down first and then across",
        mend: "move X and Y first, then Z, in two blocks",
    }
    stop PLUNGE = "plunge" {
        title: "straight down into the plate",
        why: "an end mill leaves a mark or breaks; one that does not cut to its centre cannot plunge at all",
        mend: "come down next to the plate",
    }
    stop START_OVER_PLATE = "start-over-plate" {
        title: "comes down over the plate",
        why: "the way down to the start point must be through air",
        mend: "start clear of plate and clamps, by more than the cutter's radius",
    }
    stop FIRST_MOVE = "first-move" {
        title: "the first move in X or Y is made while Z is unknown",
        why: "the cutter may be low, and then hits whatever is in its way",
        mend: "lift Z first, in a block of its own",
    }
    stop HOME_DIPS = "home-dips" {
        title: "the move home goes down",
        why: "G28 and G30 go through the programmed point first: with G90, Z0 is the plane itself",
        mend: "write G91 G28 Z0, or G53 G0 Z0",
    }
    note AFTER_CHANGE = "after-change" {
        title: "moves in X and Y at the height after the tool change",
        why: "how high the cutter is after a change depends on the machine",
        mend: "know that your machine changes tools clear of the table, or lift Z first",
    }
    note RAPID_BESIDE = "rapid-beside" {
        title: "a rapid at cutting height next to the plate",
        why: "the plate is not there, but clamps and stops may be",
        mend: "know what is next to the plate",
    }
    note RAMP_ENTRY = "ramp-entry" {
        title: "comes down over the plate in a ramp",
        why: "the cutter cuts with its end face too",
        mend: "know that this cutter may ramp at that angle",
    }
    look HOME_UNKNOWN = "home-unknown" {
        title: "moves in X and Y after a move in machine coordinates",
        why: "the height of the cutter over the plate is then unknown here",
        mend: "write a Z in the work offset first, or check the height on the machine",
    }
    unsure LOST = "lost" {
        title: "the position of the cutter is unknown",
        why: "what depends on it is not judged",
        mend: "correct what the finding before names",
    }
    stop END_LOW = "end-low" {
        title: "ends without lifting the cutter",
        why: "the next move in X or Y drags the cutter over the plate",
        mend: "lift Z before the end",
    }
}

/// What is known about heights at the end of the program. Heights are Z in mm.
#[derive(Debug)]
pub(crate) struct HeightsSeen<'a> {
    /// The lowest height of a cut.
    pub lowest: f64,
    /// The first cut at that height.
    pub cut: &'a Lowest,
    /// The heights of cuts across, the highest first.
    pub levels: Vec<f64>,
    /// The height up to which there may be metal.
    pub top: f64,
    /// The lowest rapid across.
    pub across: &'a Lowest,
    /// The lowest rapid down.
    pub plunge: &'a Lowest,
    /// The lowest rapid down and across at the same time.
    pub dip: &'a Lowest,
    /// The lowest rapid next to the plate.
    pub next_to_plate: &'a Lowest,
    /// Whether the position of some cut is unknown.
    pub lost: bool,
    /// The moves down.
    pub downs: &'a [Descent],
    /// The last height.
    pub last_z: Coord,
}

/// Checks a feed move.
#[inline]
pub(crate) fn at_cut(cut: &Motion<'_>, found: &mut FindingList) {
    lost(cut, found);
}

/// Checks the first part of a move home; returns whether it goes down.
pub(crate) fn at_way_home(rapid: &Motion<'_>, found: &mut FindingList) -> bool {
    home_dips(rapid, found)
}

/// Checks a rapid across; `first` is true where nothing went across before it.
pub(crate) fn at_rapid_across(
    rapid: &Motion<'_>,
    first: bool,
    setup: &Setup,
    found: &mut FindingList,
) {
    if first {
        first_move(rapid, found);
    }
    home_unknown(rapid, setup, found);
    after_change(rapid, found);
}

/// Checks the heights at the end of a program that cuts.
pub(crate) fn at_end(seen: &HeightsSeen<'_>, setup: &Setup, found: &mut FindingList) {
    // A cut at an unknown position may be lower, so only what is certainly too low is reported.
    if !seen.lost || setup.lowest_z.is_some_and(|said| seen.lowest < said) {
        depth(seen.cut, seen.lowest, setup, found);
    }
    if !seen.lost {
        air(seen.cut, seen.lowest, setup, found);
        bite(seen.cut, &seen.levels, setup, found);
    }
    rapid_low(seen.across, seen.top, found);
    rapid_plunge(seen.plunge, seen.top, found);
    rapid_dip(seen.dip, seen.top, found);
    rapid_beside(seen.next_to_plate, seen.top, found);
    if let (Some(plate), Some(cutter)) = (setup.plate, setup.cutter) {
        for down in seen.downs.iter().filter(|d| d.z <= seen.top + SAME) {
            if let Some(place) = down.meets(plate, cutter.diameter / 2.0) {
                plunge(down, place, found);
                start_over_plate(down, place, found);
                ramp_entry(down, place, found);
            }
        }
    }
    if !seen.lost {
        end_low(seen.last_z, seen.top, found);
    }
}

/// Checks the lowest cut against the stated height, at the end.
fn depth(cut: &Lowest, lowest: f64, setup: &Setup, found: &mut FindingList) {
    if let Some(said) = setup.lowest_z
        && (said - lowest).abs() > SAME
    {
        found.add(&DEPTH, cut.at.at(), None, || {
            Detail::with("Z{}, stated Z{}", &[Length(lowest), Length(said)])
        });
    }
}

/// Checks the lowest cut against the top of the stock, at the end.
fn air(cut: &Lowest, lowest: f64, setup: &Setup, found: &mut FindingList) {
    if let Some(stock) = setup.stock_top
        && lowest >= stock - SAME
    {
        found.add(&AIR, cut.at.at(), None, || {
            Detail::with(
                "lowest Z{}, top of the stock Z{}",
                &[Length(lowest), Length(stock)],
            )
        });
    }
}

/// Checks the bites between the heights of all cuts across, the highest first, at the end.
fn bite(cut: &Lowest, levels: &[f64], setup: &Setup, found: &mut FindingList) {
    let most = setup.cutter.and_then(|c| c.deepest_bite);
    let (Some(stock), Some(most)) = (setup.stock_top, most) else {
        return;
    };
    let mut above = stock;
    for &z in levels.iter().filter(|z| **z < stock) {
        if above - z > most + SAME {
            found.add(&BITE, cut.at.at(), None, || {
                Detail::with(
                    "{} from Z{} to Z{}, the cutter can take {}",
                    &[Length(above - z), Length(above), Length(z), Length(most)],
                )
            });
            return;
        }
        above = z;
    }
}

/// Checks the lowest rapid across against the height up to which there may be metal, at the end.
fn rapid_low(across: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = across.z
        && z <= top + SAME
    {
        found.add(&RAPID_LOW, across.at.at(), None, || {
            Detail::with(
                "at Z{}, there may be metal up to Z{}",
                &[Length(z), Length(top)],
            )
        });
    }
}

/// Checks the lowest rapid down against the height up to which there may be metal, at the end.
fn rapid_plunge(plunge: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = plunge.z
        && z <= top + SAME
    {
        found.add(&RAPID_PLUNGE, plunge.at.at(), None, || {
            Detail::with(
                "to Z{}, there may be metal up to Z{}",
                &[Length(z), Length(top)],
            )
        });
    }
}

/// A move down and across that ends less than this above the metal is a finding, in mm: ours, no source.
pub(crate) const NEAR: f64 = 1.0;

/// Checks the lowest rapid down and across against the height up to which there may be metal, at the end.
fn rapid_dip(dip: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = dip.z
        && z <= top + NEAR
    {
        found.add(&RAPID_DIP, dip.at.at(), None, || {
            Detail::with("to Z{}", &[Length(z)])
        });
    }
}

/// Checks a move down that meets the plate at the point `meets`: a finding if it goes straight down there.
fn plunge(down: &Descent, meets: [f64; 2], found: &mut FindingList) {
    if down.straight {
        let [x, y] = meets;
        found.add(&PLUNGE, down.at.at(), None, || {
            Detail::with("at X{} Y{} to Z{}", &[Length(x), Length(y), Length(down.z)])
        });
    }
}

/// Checks a move down that meets the plate at the point `meets`: a finding if it goes across at the same time.
fn start_over_plate(down: &Descent, meets: [f64; 2], found: &mut FindingList) {
    if !down.straight && !down.is_ramp(RAMP) {
        let [x, y] = meets;
        found.add(&START_OVER_PLATE, down.at.at(), None, || {
            Detail::with("at X{} Y{} to Z{}", &[Length(x), Length(y), Length(down.z)])
        });
    }
}

/// Checks a rapid across before any other.
fn first_move(rapid: &Motion<'_>, found: &mut FindingList) {
    if rapid.to[2] == StateFact::Unset {
        found.add(&FIRST_MOVE, rapid.at, None, String::new);
    }
}

/// Checks the first part of a move home; returns whether it goes down.
fn home_dips(rapid: &Motion<'_>, found: &mut FindingList) -> bool {
    let (from, to) = (rapid.from[2], rapid.to[2]);
    let Some(end) = to.known() else {
        return false;
    };
    let down = from != to && from.known().is_none_or(|start| end < start - SAME);
    if down {
        found.add(&HOME_DIPS, rapid.at, None, || {
            Detail::with("first to Z{} of the work offset", &[Length(end)])
        });
    }
    down
}

/// Checks a rapid across for a height that is unknown after a move in machine coordinates.
fn home_unknown(rapid: &Motion<'_>, setup: &Setup, found: &mut FindingList) {
    let to = rapid.to[2];
    if let StateFact::Unknown(cause) = to
        && rapid.from[2] == to
    {
        let clear = setup.mill.and_then(|m| m.clear_at_home) == Some(true);
        let unknown = match cause.why {
            UnknownReason::MachineCoordinates => true,
            UnknownReason::Home => !clear,
            _ => false,
        };
        if unknown {
            found.once(&HOME_UNKNOWN, rapid.at, || {
                format!("Z is unknown since line {}", cause.line)
            });
        }
    }
}

/// Checks a rapid across for a height that is unknown after a tool change.
fn after_change(rapid: &Motion<'_>, found: &mut FindingList) {
    if let StateFact::Unknown(cause) = rapid.to[2]
        && cause.why == UnknownReason::ToolChange
        && rapid.from[2] == rapid.to[2]
    {
        found.once(&AFTER_CHANGE, rapid.at, || {
            format!("the change is in line {}", cause.line)
        });
    }
}

/// Checks the lowest rapid next to the plate against the height up to which there may be metal, at the end.
fn rapid_beside(rapid: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = rapid.z
        && z <= top + SAME
    {
        found.add(&RAPID_BESIDE, rapid.at.at(), None, || {
            Detail::with("at Z{}", &[Length(z)])
        });
    }
}

/// The steepest move down that counts as a ramp, as height over length: about 10 degrees (common practice, no source).
const RAMP: f64 = 0.18;

/// Checks a move down that meets the plate at the point `meets`: a finding if it is a gentle one at the feed.
fn ramp_entry(down: &Descent, meets: [f64; 2], found: &mut FindingList) {
    if down.is_ramp(RAMP) {
        let [x, y] = meets;
        found.add(&RAMP_ENTRY, down.at.at(), None, || {
            Detail::with("at X{} Y{} to Z{}", &[Length(x), Length(y), Length(down.z)])
        });
    }
}

/// Reports a cut to an unknown position.
#[inline]
fn lost(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.to.iter().any(|c| !is_known_or_reported(*c)) {
        report(cut, found);
    }
}

/// Whether a coordinate is known, or another finding already states why it is not.
#[inline]
fn is_known_or_reported(coord: Coord) -> bool {
    match coord {
        StateFact::Known(_) => true,
        StateFact::Unset => false,
        StateFact::Unknown(cause) => !matches!(
            cause.why,
            UnknownReason::MachineCoordinates
                | UnknownReason::Home
                | UnknownReason::WorkOffset
                | UnknownReason::LengthOffset
                | UnknownReason::Incremental
                | UnknownReason::Shift
                | UnknownReason::ToolChange
        ),
    }
}

#[cold]
fn report(cut: &Motion<'_>, found: &mut FindingList) {
    let unknown = b"XYZ"
        .iter()
        .zip(cut.to)
        .find(|(_, c)| !is_known_or_reported(*c));
    let Some((axis, coord)) = unknown else {
        return;
    };
    let axis = char::from(*axis);
    found.once(&LOST, cut.at, || match coord.cause() {
        Some(cause) => format!("{axis}, since line {}: {}", cause.line, cause.why),
        None => format!("{axis} was never set"),
    });
}

/// Checks the height of the last motion against that up to which there may be metal, at the end.
fn end_low(last: Coord, top: f64, found: &mut FindingList) {
    if let StateFact::Known(z) = last
        && z <= top + SAME
    {
        found.whole(&END_LOW, Detail::with("at Z{}", &[Length(z)]));
    }
}
