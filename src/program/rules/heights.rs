//! How low the cutter goes, how it gets there, and what it does at that height.

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
        title: "the lowest cut is not where it was said to be",
        why: "the entry for the readout counts on it; the plate is cut by the difference too deep or too shallow",
        mend: "read the lowest Z again, or find the program that belongs to it",
    }
    stop AIR = "air" {
        title: "every cut stays above the plate",
        why: "the program touches nothing; the zero or the plane is another than was meant",
        mend: "compare the lowest Z and the work offset with what was set",
    }
    stop BITE = "bite" {
        title: "a bite deeper than the cutter takes",
        why: "the cutter breaks, or lifts the plate",
        mend: "raise the plane, or take more passes",
    }
    stop RAPID_LOW = "rapid-low" {
        title: "a rapid across at cutting height",
        why: "at the traverse rate through metal, a clamp or a burr",
        mend: "lift Z before every rapid in X or Y",
    }
    stop RAPID_PLUNGE = "rapid-plunge" {
        title: "a rapid down to cutting height",
        why: "in stock that breaks the cutter; and overrides are lowest where nobody expects them to matter",
        mend: "stop the rapid above the plate and feed the rest",
    }
    look RAPID_DIP = "rapid-dip" {
        title: "a rapid goes down and sideways at once",
        why: "the axes run independently on many machines: down first, then across",
        mend: "X and Y first, then Z, in two blocks",
    }
    stop PLUNGE = "plunge" {
        title: "straight down into the plate",
        why: "an end mill leaves a mark or breaks; one that does not cut to its centre cannot do it at all",
        mend: "come down beside the plate",
    }
    stop START_OVER_PLATE = "start-over-plate" {
        title: "comes down over the plate",
        why: "coming down on the start point must be coming down in air",
        mend: "start beside plate and clamps, by more than the cutter's radius",
    }
    stop FIRST_MOVE = "first-move" {
        title: "the first move in X or Y while Z is not known",
        why: "the cutter may stand low, and goes through what is in the way",
        mend: "lift Z first, in a block of its own",
    }
    stop HOME_DIPS = "home-dips" {
        title: "the way home leads down",
        why: "G28 and G30 go through the programmed point first: with G90, Z0 is the plane itself",
        mend: "write G91 G28 Z0, or G53 G0 Z0",
    }
    note AFTER_CHANGE = "after-change" {
        title: "moves in X and Y at the height the tool change left",
        why: "how high the cutter stands after a change is the machine's affair",
        mend: "know that your machine changes tools clear of the table, or lift Z first",
    }
    note RAPID_BESIDE = "rapid-beside" {
        title: "a rapid at cutting height beside the plate",
        why: "nothing of the plate is there; clamps and stops may be",
        mend: "know what stands beside the plate",
    }
    note RAMP_ENTRY = "ramp-entry" {
        title: "comes down over the plate in a ramp",
        why: "the cutter cuts with its end face too",
        mend: "know that this cutter may ramp at that angle",
    }
    look HOME_UNKNOWN = "home-unknown" {
        title: "moves in X and Y after a move in machine coordinates",
        why: "how high the cutter then stands over the plate is not known here",
        mend: "say a Z in the work offset first, or check the height on the machine",
    }
    unsure LOST = "lost" {
        title: "where the cutter is cannot be told",
        why: "what depends on it is not judged",
        mend: "mend what the finding before says",
    }
    stop END_LOW = "end-low" {
        title: "ends without lifting",
        why: "the next move in X or Y drags the cutter over the plate",
        mend: "lift Z before the end",
    }
}

/// What is known of heights at the end.
#[derive(Debug)]
pub struct HeightsSeen<'a> {
    /// The lowest height cut at.
    pub lowest: f64,
    /// The first cut there.
    pub cut: &'a Lowest,
    /// Heights cut across at, highest first.
    pub levels: Vec<f64>,
    /// Where metal may begin.
    pub top: f64,
    /// The lowest rapid across.
    pub across: &'a Lowest,
    /// The lowest rapid down.
    pub plunge: &'a Lowest,
    /// The lowest rapid down and across.
    pub dip: &'a Lowest,
    /// The lowest rapid beside the plate.
    pub beside: &'a Lowest,
    /// Whether some cut is not known.
    pub lost: bool,
    /// The ways down.
    pub downs: &'a [Descent],
    /// The last height.
    pub last_z: Coord,
}

/// At a feed move.
#[inline]
pub fn at_cut(cut: &Motion<'_>, found: &mut FindingList) {
    lost(cut, found);
}

/// At the first leg of a way home; whether it goes down.
pub fn at_way_home(rapid: &Motion<'_>, found: &mut FindingList) -> bool {
    home_dips(rapid, found)
}

/// At a rapid across, and whether nothing went across before it.
pub fn at_rapid_across(rapid: &Motion<'_>, first: bool, setup: &Setup, found: &mut FindingList) {
    if first {
        first_move(rapid, found);
    }
    home_unknown(rapid, setup, found);
    after_change(rapid, found);
}

/// At the end of a program that cuts.
pub fn at_end(seen: &HeightsSeen<'_>, setup: &Setup, found: &mut FindingList) {
    // What was not seen may be lower, so only what is too low for certain is said.
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
    rapid_beside(seen.beside, seen.top, found);
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

/// At the end, with the lowest cut and its height.
fn depth(cut: &Lowest, lowest: f64, setup: &Setup, found: &mut FindingList) {
    if let Some(said) = setup.lowest_z
        && (said - lowest).abs() > SAME
    {
        found.add(&DEPTH, cut.at.at(), None, || {
            Detail::with("Z{}, said Z{}", &[Length(lowest), Length(said)])
        });
    }
}

/// At the end, with the lowest cut and its height.
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

/// At the end, with the lowest cut and every height that was cut across at, highest first.
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
                    "{} from Z{} to Z{}, the cutter takes {}",
                    &[Length(above - z), Length(above), Length(z), Length(most)],
                )
            });
            return;
        }
        above = z;
    }
}

/// At the end, with the lowest rapid across and the height where metal may begin.
fn rapid_low(across: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = across.z
        && z <= top + SAME
    {
        found.add(&RAPID_LOW, across.at.at(), None, || {
            Detail::with("at Z{}, metal up to Z{}", &[Length(z), Length(top)])
        });
    }
}

/// At the end, with the lowest rapid down and the height where metal may begin.
fn rapid_plunge(plunge: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = plunge.z
        && z <= top + SAME
    {
        found.add(&RAPID_PLUNGE, plunge.at.at(), None, || {
            Detail::with("to Z{}, metal up to Z{}", &[Length(z), Length(top)])
        });
    }
}

/// How near above the metal a way down and across is worth a look, in mm: ours, no source.
const NEAR: f64 = 1.0;

/// At the end, with the lowest rapid down and across and the height where metal may begin.
fn rapid_dip(dip: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = dip.z
        && z <= top + NEAR
    {
        found.add(&RAPID_DIP, dip.at.at(), None, || {
            Detail::with("to Z{}", &[Length(z)])
        });
    }
}

/// A way down that meets the plate at a place, if it goes straight down there.
fn plunge(down: &Descent, meets: [f64; 2], found: &mut FindingList) {
    if down.straight {
        let [x, y] = meets;
        found.add(&PLUNGE, down.at.at(), None, || {
            Detail::with("at X{} Y{} to Z{}", &[Length(x), Length(y), Length(down.z)])
        });
    }
}

/// A way down that meets the plate at a place, if it goes across at the same time.
fn start_over_plate(down: &Descent, meets: [f64; 2], found: &mut FindingList) {
    if !down.straight && !down.is_ramp(RAMP) {
        let [x, y] = meets;
        found.add(&START_OVER_PLATE, down.at.at(), None, || {
            Detail::with("at X{} Y{} to Z{}", &[Length(x), Length(y), Length(down.z)])
        });
    }
}

/// At a rapid across before any other.
fn first_move(rapid: &Motion<'_>, found: &mut FindingList) {
    if rapid.to[2] == StateFact::Unset {
        found.add(&FIRST_MOVE, rapid.at, None, String::new);
    }
}

/// At the first leg of a way home; whether it goes down.
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

/// At a rapid across.
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
                format!("Z is not known since line {}", cause.line)
            });
        }
    }
}

/// At a rapid across.
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

/// At the end, with the lowest rapid beside the plate and the height where metal may begin.
fn rapid_beside(beside: &Lowest, top: f64, found: &mut FindingList) {
    if let Some(z) = beside.z
        && z <= top + SAME
    {
        found.add(&RAPID_BESIDE, beside.at.at(), None, || {
            Detail::with("at Z{}", &[Length(z)])
        });
    }
}

/// The steepest way down that counts as a ramp, as height over length: about 10 degrees (common practice, no source).
const RAMP: f64 = 0.18;

/// A way down that meets the plate at a place, if it is a gentle one at the feed.
fn ramp_entry(down: &Descent, meets: [f64; 2], found: &mut FindingList) {
    if down.is_ramp(RAMP) {
        let [x, y] = meets;
        found.add(&RAMP_ENTRY, down.at.at(), None, || {
            Detail::with("at X{} Y{} to Z{}", &[Length(x), Length(y), Length(down.z)])
        });
    }
}

/// At a cut to somewhere that is not known.
#[inline]
fn lost(cut: &Motion<'_>, found: &mut FindingList) {
    if cut.to.iter().any(|c| !is_known_or_reported(*c)) {
        report(cut, found);
    }
}

/// Whether a coordinate is known, or another finding already says why it is not.
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
        None => format!("{axis} was never said"),
    });
}

/// At the end, with the height the last motion came to and that where metal may begin.
fn end_low(last: Coord, top: f64, found: &mut FindingList) {
    if let StateFact::Known(z) = last
        && z <= top + SAME
    {
        found.whole(&END_LOW, Detail::with("at Z{}", &[Length(z)]));
    }
}
