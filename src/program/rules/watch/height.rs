//! Follows the height of the cutter: how low it goes, how it gets there, and what it does at that height.

use crate::program::fact::StateFact;
use crate::program::finding::{FindingList, OwnedLocation};
use crate::program::motion::{Coord, Motion, MotionKind, Straight};
use crate::program::rules::{heights, text};
use crate::program::setup::{Plate, Setup};
use std::collections::BTreeSet;

/// Metal assumed above the lowest cut where the set-up gives no figure: 0.5 mm (ours; a skim is a few tenths).
const STOCK: f64 = 0.5;
/// Most moves down, and most levels, that are stored.
const MOST: usize = 1_000;
/// A rapid whose cutter stays further from the plate than this counts as next to the plate, in mm: ours, no source.
const BESIDE: f64 = 3.0;
/// Heights nearer than this are equal, mm.
pub(crate) const SAME: f64 = 5e-4;

/// The lowest motion of a kind.
#[derive(Debug, Default)]
pub(crate) struct Lowest {
    /// Its lowest Z, mm.
    pub z: Option<f64>,
    /// Location of the first motion that went so low.
    pub at: OwnedLocation,
}

impl Lowest {
    #[inline]
    fn see(&mut self, z: f64, motion: &Motion<'_>) {
        if self.z.is_none_or(|lowest| z < lowest) {
            self.z = Some(z);
            self.at.keep(motion.at);
        }
    }
}

/// A move down.
#[derive(Debug)]
pub(crate) struct Descent {
    /// Location of the block that moves down; stored, because its line is read only once.
    pub at: OwnedLocation,
    /// X and Y of the start, mm.
    pub from: [f64; 2],
    /// X and Y of the end, mm.
    pub to: [f64; 2],
    /// Z of the end, mm.
    pub z: f64,
    /// Whether it goes only down, not across.
    pub straight: bool,
    /// Height over length, where it is at the feed.
    pub slope: Option<f64>,
}

impl Descent {
    /// Whether it is at the feed and no steeper than `steepest`.
    pub(crate) fn is_ramp(&self, steepest: f64) -> bool {
        self.slope.is_some_and(|slope| slope <= steepest)
    }

    /// An end point at which a disc of this radius is over the plate; `None` where the position of the plate is
    /// unknown.
    pub(crate) fn meets(&self, plate: Plate, radius: f64) -> Option<[f64; 2]> {
        let corner = plate.corner?;
        [self.from, self.to].into_iter().find(|at| {
            let mut squares = 0.0;
            for ((place, corner), size) in at.iter().zip(corner).zip(plate.size) {
                let outside = (corner - place).max(place - (corner + size)).max(0.0);
                squares += outside * outside;
            }
            squares < radius * radius
        })
    }
}

/// Collects heights.
#[derive(Debug)]
pub(crate) struct Height {
    setup: Setup,
    lowest_cut: Lowest,
    across: Lowest,
    plunge: Lowest,
    dip: Lowest,
    next_to_plate: Lowest,
    /// The line since which the position of the first cut to an unknown place is unknown; zero where it was never set.
    lost: Option<u32>,
    /// The lowest end of a rapid that goes down and sideways at once, wherever it is.
    slanted: Lowest,
    downs: Vec<Descent>,
    levels: BTreeSet<i64>,
    last_level: f64,
    last_z: Coord,
    moved: bool,
    home: bool,
}

fn moves(from: Coord, to: Coord) -> bool {
    from != to
}

#[allow(clippy::cast_possible_truncation)]
fn level(z: f64) -> i64 {
    (z * 10_000.0).round() as i64
}

impl Height {
    /// A watcher for this set-up.
    pub(crate) fn new(setup: &Setup) -> Self {
        Self {
            setup: *setup,
            lowest_cut: Lowest::default(),
            across: Lowest::default(),
            plunge: Lowest::default(),
            dip: Lowest::default(),
            next_to_plate: Lowest::default(),
            lost: None,
            slanted: Lowest::default(),
            downs: Vec::new(),
            levels: BTreeSet::new(),
            last_level: f64::NAN,
            last_z: StateFact::Unset,
            moved: false,
            home: false,
        }
    }

    /// Z of the lowest cut, mm.
    pub(crate) fn lowest(&self) -> Option<f64> {
        self.lowest_cut.z
    }

    /// The height of the last motion.
    pub(crate) fn last_z(&self) -> Coord {
        self.last_z
    }

    /// The line since which the position of a cut is unknown, zero where it was never set; `None` where every cut is
    /// known.
    pub(crate) fn lost_since(&self) -> Option<u32> {
        self.lost
    }

    /// A rapid that goes down and sideways at once, to a height at which there may be metal, wherever it is.
    pub(crate) fn slanted(&self) -> Option<&OwnedLocation> {
        let top = self.metal_top()?;
        let z = self.slanted.z?;
        (z <= top + heights::NEAR).then_some(&self.slanted.at)
    }

    /// Marks the next rapid as the first part of a move home.
    pub(crate) fn goes_home(&mut self) {
        self.home = true;
    }

    /// Receives a motion.
    #[inline]
    pub(crate) fn motion(&mut self, motion: &Motion<'_>, found: &mut FindingList) {
        let (from, to) = (motion.from[2], motion.to[2]);
        self.last_z = to;
        let across = moves(motion.from[0], motion.to[0]) || moves(motion.from[1], motion.to[1]);
        match motion.kind {
            MotionKind::Rapid => self.rapid(motion, across, found),
            MotionKind::Feed | MotionKind::Arc => {
                if let Some(end) = to.known() {
                    let mut low = from.known().map_or(end, |z| z.min(end));
                    if let Some(arc) = motion.arc {
                        low = low.min(arc.box_of()[2][0]);
                    }
                    self.lowest_cut.see(low, motion);
                    if across && end.to_bits() != self.last_level.to_bits() {
                        self.last_level = end;
                        if self.levels.len() < MOST {
                            self.levels.insert(level(end));
                        }
                    }
                    if from.known().is_none_or(|z| z > end) {
                        // A full circle can go down along its path, though it ends where it began.
                        let along = match (motion.arc, motion.ends()) {
                            (Some(arc), _) => arc.sweep.abs() * arc.radius,
                            (None, Some([a, b])) => (b[0] - a[0]).hypot(b[1] - a[1]),
                            (None, None) => 0.0,
                        };
                        let slope = from
                            .known()
                            .filter(|_| along > 0.0)
                            .map(|z| (z - end) / along);
                        self.down(motion, end, along == 0.0, slope);
                    }
                }
                if self.lost.is_none() {
                    let unknown = motion.to.iter().find(|c| c.known().is_none());
                    self.lost = unknown.map(|c| c.cause().map_or(0, |cause| cause.line));
                }
                heights::at_cut(motion, found);
            }
        }
        self.home = false;
        self.moved |= across;
    }

    /// Receives a straight cut. A cut at the level of the last cut across goes no lower and reaches no new level.
    #[inline]
    pub(crate) fn straight(&mut self, cut: &Straight<'_>, found: &mut FindingList) {
        let z = cut.to[2];
        let level =
            z.to_bits() == self.last_level.to_bits() && z.to_bits() == cut.from[2].to_bits();
        if !(level && self.lowest_cut.z.is_some_and(|lowest| lowest <= z)) {
            self.motion(&cut.motion(), found);
            return;
        }
        self.last_z = StateFact::Known(z);
        self.home = false;
        #[allow(clippy::float_cmp)]
        let across = cut.from[0] != cut.to[0] || cut.from[1] != cut.to[1];
        self.moved |= across;
    }

    fn rapid(&mut self, motion: &Motion<'_>, across: bool, found: &mut FindingList) {
        if self.home && heights::at_way_home(motion, found) {
            return;
        }
        let (start, end) = (motion.from[2].known(), motion.to[2].known());
        if across {
            heights::at_rapid_across(motion, !self.moved, &self.setup, found);
        }
        let Some(end) = end else {
            return;
        };
        if across && start.is_none_or(|start| end < start - SAME) {
            self.slanted.see(end, motion);
        }
        let low = start.map_or(end, |z| z.min(end));
        if !self.over_plate(motion) {
            // On the way up from a position next to the plate there is nothing near.
            if across || end <= low {
                self.next_to_plate
                    .see(if across { low } else { end }, motion);
            }
            return;
        }
        if across && let Some(start) = start {
            if end >= start - SAME {
                // On the way up the axes may run independently, so the height of the start counts.
                self.across.see(start, motion);
            } else {
                self.dip.see(end, motion);
            }
        }
        if start.is_none_or(|z| z > end + SAME) {
            self.plunge.see(end, motion);
            if across {
                self.down(motion, end, false, None);
            }
        }
    }

    /// Whether a rapid comes near the plate, whatever way the axes take between its end points; an unknown position may
    /// be near.
    fn over_plate(&self, motion: &Motion<'_>) -> bool {
        let corner = self.setup.plate.and_then(|p| Some((p.corner?, p.size)));
        let (Some((corner, size)), Some(cutter)) = (corner, self.setup.cutter) else {
            return true;
        };
        let reach = cutter.diameter / 2.0 + BESIDE;
        let ends = motion.from.iter().zip(motion.to);
        ends.zip(corner).zip(size).all(|(((from, to), low), size)| {
            match (from.known(), to.known()) {
                (Some(a), Some(b)) => a.max(b) > low - reach && a.min(b) < low + size + reach,
                _ => true,
            }
        })
    }

    fn down(&mut self, motion: &Motion<'_>, z: f64, straight: bool, slope: Option<f64>) {
        let flat = |coords: [Coord; 3]| Some([coords[0].known()?, coords[1].known()?]);
        let (Some(from), Some(to)) = (flat(motion.from), flat(motion.to)) else {
            return;
        };
        if self.downs.len() < MOST {
            let mut at = OwnedLocation::default();
            at.keep(motion.at);
            self.downs.push(Descent {
                at,
                from,
                to,
                z,
                straight,
                slope,
            });
        }
    }

    /// The height up to which there may be metal: as stated, or the lowest cut plus the bite of a pass.
    fn top(&self, lowest: f64) -> f64 {
        let bite = self.setup.cutter.and_then(|c| c.deepest_bite);
        self.setup.stock_top.unwrap_or_else(|| {
            // There may be metal up to each level, if a pass at that level can have left it above the level below.
            let pass = bite.unwrap_or(STOCK);
            let mut top = lowest;
            #[allow(clippy::cast_precision_loss)]
            for level in self.levels.iter().map(|l| *l as f64 / 10_000.0) {
                if level > top && level - top <= pass + SAME {
                    top = level;
                }
            }
            top + pass
        })
    }

    /// The height up to which there may be metal, where anything is cut.
    pub(crate) fn metal_top(&self) -> Option<f64> {
        Some(self.top(self.lowest_cut.z?))
    }

    /// Applies the rules of height at the end.
    pub(crate) fn end(&self, found: &mut FindingList) {
        let (setup, cut) = (&self.setup, &self.lowest_cut);
        let Some(lowest) = cut.z else {
            return;
        };
        #[allow(clippy::cast_precision_loss)]
        let levels = self.levels.iter().rev().map(|l| *l as f64 / 10_000.0);
        let seen = heights::HeightsSeen {
            lowest,
            cut,
            levels: levels.collect(),
            top: self.top(lowest),
            across: &self.across,
            plunge: &self.plunge,
            dip: &self.dip,
            next_to_plate: &self.next_to_plate,
            lost: self.lost.is_some() || text::cut_short(found),
            downs: &self.downs,
            last_z: self.last_z,
        };
        heights::at_end(&seen, setup, found);
    }
}
