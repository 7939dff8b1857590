//! Rules about the extents of the program, its rows, and the uncovered part of the plate.

use crate::program::detail::Detail;
use crate::program::detail::Figure::{Area, Length};
use crate::program::finding::FindingList;
use crate::program::rules::ending;
use crate::program::rules::rule::Grade;
use crate::program::rules::rule::rules;
use crate::program::rules::watch::extent::{Rows, Sides};
use crate::program::rules::watch::height::SAME;
use crate::program::setup::Setup;

rules! {
    stop TRAVEL = "travel" {
        title: "further than the machine can travel",
        why: "the machine runs into the ends of its travel, or the control stops in the cut",
        mend: "check the units, the position of the work zero, and whether the plate is too long for this machine",
    }
    stop UNITS_SIZE = "units-size" {
        title: "the cut is 25.4 times larger or smaller than the plate",
        why: "a wrong unit is the likeliest slip",
        mend: "check G20 and G21, and the numbers",
    }
    stop EDGE = "edge" {
        title: "rows that do not reach past the edges",
        why: "a rim of the old surface remains at the edge",
        mend: "make the rows longer, or set the X and Y zero where the program expects it",
    }
    stop STEP_OVER = "step-over" {
        title: "rows further apart than the width of the cutter's flat",
        why: "a ridge remains between the rows",
        mend: "reduce the distance between the rows, or use a larger cutter",
    }
    stop NOTHING_REACHED = "nothing-reached" {
        title: "no part of the plate is reached",
        why: "the program cuts somewhere else, or at another height than intended",
        mend: "check the work offset, the plate's corner in the shop file, and the lowest Z",
    }
    look NOT_REACHED = "not-reached" {
        title: "the cutter's flat does not reach part of the plate",
        why: "the old surface remains there",
        mend: "see where, and make the rows longer or closer together, or add rows",
    }
    stop NOTHING_CUT = "nothing-cut" {
        title: "no feed move in the whole file",
        why: "this is not a facing program, or none of it could be read",
        mend: "check that it is the right file",
    }
}

/// What is known about the path at the end of the program.
#[derive(Debug)]
pub(crate) struct ReachSeen {
    /// The extents of all motions, mm.
    pub all: Sides,
    /// The extents of the feed moves, mm, if any are known.
    pub cut: Option<Sides>,
    /// The extents of the cuts at the lowest height, mm.
    pub low: Sides,
    /// The rows, where the path is a raster.
    pub rows: Option<Rows>,
    /// Whether the position of some cut is unknown.
    pub lost: bool,
    /// The uncovered part of the plate, in percent and mm2, where it was measured.
    pub reached: Option<[f64; 2]>,
}

/// The smallest uncovered part of the plate, in percent, that is a finding: ours, no source.
const SOME: f64 = 0.1;
/// From this percentage on, the whole plate counts as uncovered.
const ALL: f64 = 99.95;

/// Reports the uncovered part of the plate, in percent and mm2.
fn not_reached([percent, area]: [f64; 2], found: &mut FindingList) {
    if percent > ALL {
        found.whole(&NOTHING_REACHED, Detail::with("{} remain", &[Area(area)]));
    } else if percent >= SOME {
        found.whole(
            &NOT_REACHED,
            Detail::with(&format!("{percent:.1} % of the plate, {{}}"), &[Area(area)]),
        );
    }
}

/// Checks the reach at the end of the program.
pub(crate) fn at_end(seen: &ReachSeen, setup: &Setup, found: &mut FindingList) {
    travel(&seen.all, setup, found);
    let Some(cut) = &seen.cut else {
        return;
    };
    if units_size(cut, setup, found) {
        return;
    }
    // A measured coverage takes precedence over the rows; and where part of the path is unknown, the rows prove
    // nothing.
    match seen.reached {
        Some(left) => {
            not_reached(left, found);
            if left[0] < SOME || left[0] > ALL {
                return;
            }
        }
        None if seen.lost => return,
        None => {}
    }
    edge(&seen.low, setup, found);
    if let Some(rows) = seen.rows {
        step_over(rows, setup, found);
    }
}

/// Checks the extents of all motions: too long for an axis wherever the work zero is, or too long from its known
/// position.
fn travel(all: &Sides, setup: &Setup, found: &mut FindingList) {
    let Some(mill) = setup.mill else {
        return;
    };
    for (axis, name) in ["X", "Y"].into_iter().enumerate() {
        let (Some(travel), Some(side)) = (mill.travel, all.get(axis)) else {
            continue;
        };
        let most = travel.get(axis).copied().unwrap_or(f64::INFINITY);
        let reach = side[1] - side[0];
        if !reach.is_finite() {
            continue;
        }
        if reach > most + SAME {
            found.whole(
                &TRAVEL,
                Detail::with(
                    &format!("{name} moves {{}}, the machine can travel {{}}"),
                    &[Length(reach), Length(most)],
                ),
            );
        } else if let Some(zero) = setup.zero.and_then(|z| z.get(axis).copied()) {
            let [low, high] = side.map(|s| s + zero);
            // Home is at one end of the axis, and its coordinates count away from it, up or down.
            let within = |a: f64, b: f64| low >= a - SAME && high <= b + SAME;
            if !within(0.0, most) && !within(-most, 0.0) {
                found.whole(
                    &TRAVEL,
                    Detail::with(
                        &format!("{name} goes from {{}} to {{}} in machine coordinates; the machine can travel {{}} from home"),
                        &[Length(low), Length(high), Length(most)],
                    ),
                );
            }
        }
    }
    if let (Some([_, _, zero]), Some(lowest)) = (setup.zero, mill.lowest_z) {
        let [low, high] = all[2].map(|s| s + zero);
        if low < lowest - SAME || high.is_finite() && high > SAME {
            found.whole(
                &TRAVEL,
                Detail::with(
                    "Z goes from {} to {} in machine coordinates; the machine has {} to 0",
                    &[Length(low), Length(high), Length(lowest)],
                ),
            );
        }
    }
}

/// Checks the extents of the feed moves for a wrong unit; returns whether one was found.
fn units_size(cut: &Sides, setup: &Setup, found: &mut FindingList) -> bool {
    let Some(plate) = setup.plate else {
        return false;
    };
    let [x, y, _] = cut.map(|side| side[1] - side[0]);
    let shares = [x / plate.size[0], y / plate.size[1]];
    let near = |share: f64, ratio: f64| share > ratio * 0.75 && share < ratio * 1.6;
    let slip = [25.4, 1.0 / 25.4]
        .into_iter()
        .any(|ratio| shares.iter().all(|share| near(*share, ratio)));
    if slip {
        let [long, wide] = plate.size;
        found.whole(
            &UNITS_SIZE,
            Detail::with(
                "cuts {} x {}, the plate is {} x {}",
                &[Length(x), Length(y), Length(long), Length(wide)],
            ),
        );
    }
    slip
}

/// Checks the cuts at the lowest height against the edges of the plate, at the end.
fn edge(low: &Sides, setup: &Setup, found: &mut FindingList) {
    let (Some(plate), Some(cutter)) = (setup.plate, setup.cutter) else {
        return;
    };
    let flat = cutter.flat_radius();
    for (axis, name) in ["X", "Y"].into_iter().enumerate() {
        let (Some(side), Some(size)) = (low.get(axis), plate.size.get(axis)) else {
            continue;
        };
        if side[0] > side[1] {
            continue;
        }
        if let Some(corner) = plate.corner.and_then(|c| c.get(axis).copied()) {
            let short = [
                ("low", side[0] - flat - corner),
                ("high", corner + size - (side[1] + flat)),
            ];
            for (end, short) in short.into_iter().filter(|(_, s)| *s > SAME) {
                found.whole(
                    &EDGE,
                    Detail::with(
                        &format!("{{}} short at the {end} end of {name}"),
                        &[Length(short)],
                    ),
                );
            }
        } else {
            let short = size - (side[1] - side[0] + 2.0 * flat);
            if short > SAME {
                found.whole(
                    &EDGE,
                    Detail::with(
                        &format!("{{}} short along {name} in total"),
                        &[Length(short)],
                    ),
                );
            }
        }
    }
}

/// Checks the step between the rows, at the end.
fn step_over(rows: Rows, setup: &Setup, found: &mut FindingList) {
    let (Some(step), Some(cutter)) = (rows.step, setup.cutter) else {
        return;
    };
    let flat = 2.0 * cutter.flat_radius();
    if step > flat + SAME {
        found.whole(
            &STEP_OVER,
            Detail::with(
                "{}, the flat is {} - 2 x {} = {}",
                &[
                    Length(step),
                    Length(cutter.diameter),
                    Length(cutter.corner),
                    Length(flat),
                ],
            ),
        );
    }
}

/// Reports that nothing is cut, where no other finding explains it.
pub(crate) fn nothing_cut(lowest: Option<f64>, found: &mut FindingList) {
    let explained = found.any(|r| r.grade == Grade::Stop && r != &ending::NO_END);
    if lowest.is_none() && !explained {
        found.whole(&NOTHING_CUT, String::new());
    }
}
