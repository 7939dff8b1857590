//! Follows the extents of a program, its rows, and the distance between them.

use crate::program::finding::FindingList;
use crate::program::motion::{Motion, MotionKind, Straight};
use crate::program::rules::watch::height::SAME;
use crate::program::rules::{reach, text};
use crate::program::setup::Setup;
use std::collections::BTreeMap;

/// Most rows that are stored.
const MOST: usize = 200_000;

/// Less than any control resolves, in mm: two positions nearer than this are equal.
const RESOLVED: f64 = 2e-5;

/// Smallest and largest coordinate on X, Y, Z, mm.
pub(crate) type Sides = [[f64; 2]; 3];

const NONE: Sides = [[f64::INFINITY, f64::NEG_INFINITY]; 3];

#[inline]
fn grow(sides: &mut Sides, point: [f64; 3]) {
    for (side, value) in sides.iter_mut().zip(point) {
        side[0] = side[0].min(value);
        side[1] = side[1].max(value);
    }
}

/// Whether a box contains a point.
#[inline]
fn holds(sides: &Sides, point: [f64; 3]) -> bool {
    let [x, y, z] = sides;
    let within = |side: &[f64; 2], value: f64| (side[0]..=side[1]).contains(&value);
    within(x, point[0]) & within(y, point[1]) & within(z, point[2])
}

/// A run of straight moves along an axis.
#[derive(Clone, Copy, Debug)]
struct Run {
    axis: usize,
    key: i64,
    /// The coordinate of the run on the other axis, mm: the key again, stored to compare without computing it.
    at: f64,
    from: f64,
    to: f64,
}

/// Collects extents and rows.
#[derive(Debug)]
pub(crate) struct Extent {
    setup: Setup,
    all: Sides,
    cut: Sides,
    /// The lowest height so far, mm; only cuts at this height are rows.
    lowest: f64,
    low: Sides,
    /// The part common to all three boxes: a cut inside it widens none of them.
    inner: Sides,
    rows: [BTreeMap<i64, [f64; 2]>; 2],
    across: [f64; 2],
    run: Option<Run>,
    /// Whether the position of some cut is unknown.
    lost: bool,
    /// Length of all curves at the lowest height, mm.
    curved: f64,
    /// Number of rows in the plus and in the minus direction, along each axis.
    ways: [[u32; 2]; 2],
}

/// The rows of a raster.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rows {
    /// Number of rows.
    pub count: usize,
    /// The widest step between two rows, mm.
    pub step: Option<f64>,
    /// The axis of the rows: 0 is X, 1 is Y.
    pub axis: usize,
    /// Where all rows begin and end along their axis, mm: the part that the shortest of them has too.
    pub(crate) along: [f64; 2],
    /// The outermost rows across, mm.
    pub(crate) across: [f64; 2],
    /// Whether all rows are cut in one direction.
    pub one_way: bool,
}

#[allow(clippy::cast_possible_truncation)]
fn key(value: f64) -> i64 {
    (value * 10_000.0).round() as i64
}

impl Extent {
    /// A watcher for this set-up.
    pub(crate) fn new(setup: &Setup) -> Self {
        Self {
            setup: *setup,
            all: NONE,
            cut: NONE,
            lowest: f64::INFINITY,
            low: NONE,
            inner: NONE,
            rows: [BTreeMap::new(), BTreeMap::new()],
            across: [0.0; 2],
            run: None,
            lost: false,
            curved: 0.0,
            ways: [[0; 2]; 2],
        }
    }

    /// Receives a straight cut.
    #[inline]
    pub(crate) fn straight(&mut self, cut: &Straight<'_>) {
        let (from, to) = (cut.from, cut.to);
        // The lowest box is no higher than the tolerance for one height, so everything in it is at the lowest height.
        #[allow(clippy::float_cmp)]
        if holds(&self.inner, from) {
            let within = holds(&self.inner, to);
            if within || to[2] == from[2] {
                if !within {
                    // The cut goes further at the same height: extend every box by its end, and so their common part.
                    grow(&mut self.all, to);
                    grow(&mut self.cut, to);
                    grow(&mut self.low, to);
                    grow(&mut self.inner, to);
                }
                self.row(from, to);
                return;
            }
        }
        grow(&mut self.all, to);
        self.feed(from, to, true);
        self.inner = self.low;
        for (side, all) in self.inner.iter_mut().zip(&self.all) {
            *side = [side[0].max(all[0]), side[1].min(all[1])];
        }
    }

    /// Receives a motion.
    #[inline]
    pub(crate) fn motion(&mut self, motion: &Motion<'_>) {
        let Some([from, to]) = motion.ends() else {
            self.known_axes(motion);
            self.lost |= motion.kind != MotionKind::Rapid;
            return;
        };
        grow(&mut self.all, to);
        if motion.kind == MotionKind::Rapid {
            return;
        }
        if let Some(arc) = motion.arc {
            let sides = arc.box_of();
            for corner in [0, 1] {
                let point = sides.map(|s| s.get(corner).copied().unwrap_or(0.0));
                grow(&mut self.cut, point);
                grow(&mut self.all, point);
            }
        }
        self.feed(from, to, motion.kind == MotionKind::Feed);
        // A curve can reach further than its end points.
        if let Some(arc) = motion.arc
            && [from[2], to[2]]
                .iter()
                .all(|z| (z - self.lowest).abs() <= SAME)
        {
            let sides = arc.box_of();
            for corner in [0, 1] {
                grow(
                    &mut self.low,
                    sides.map(|s| s.get(corner).copied().unwrap_or(0.0)),
                );
            }
            self.curved += arc.length();
        }
    }

    /// Adds a cut between two points; `row` where it is straight.
    #[inline]
    fn feed(&mut self, from: [f64; 3], to: [f64; 3], row: bool) {
        grow(&mut self.cut, from);
        grow(&mut self.cut, to);
        if to[2] < self.lowest - SAME {
            self.lowest = to[2];
            self.low = NONE;
            self.inner = NONE;
            self.rows = [BTreeMap::new(), BTreeMap::new()];
            self.across = [0.0; 2];
            self.curved = 0.0;
            self.ways = [[0; 2]; 2];
            self.run = None;
        }
        if (to[2] - self.lowest).abs() > SAME || (from[2] - self.lowest).abs() > SAME {
            return;
        }
        grow(&mut self.low, from);
        grow(&mut self.low, to);
        if row {
            self.row(from, to);
        }
    }

    #[inline]
    #[allow(clippy::float_cmp)]
    fn row(&mut self, from: [f64; 3], to: [f64; 3]) {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let level = |d: f64| d.abs() < RESOLVED;
        if level(dy) && !level(dx) {
            self.along(0, from[1], from[0], to[0]);
        } else if level(dx) && !level(dy) {
            self.along(1, from[0], from[1], to[1]);
        }
    }

    /// Handles a motion with unknown coordinates: the known ones still count for the travel.
    #[cold]
    fn known_axes(&mut self, motion: &Motion<'_>) {
        for (side, coord) in self.all.iter_mut().zip(motion.to) {
            if let Some(value) = coord.known() {
                *side = [side[0].min(value), side[1].max(value)];
            }
        }
    }

    #[inline]
    #[allow(clippy::float_cmp)]
    fn along(&mut self, axis: usize, at: f64, from: f64, to: f64) {
        if let Some(across) = self.across.get_mut(axis) {
            *across += (to - from).abs();
        }
        match &mut self.run {
            Some(run) if run.axis == axis && (run.at == at || run.key == key(at)) => {
                run.from = run.from.min(from.min(to));
                run.to = run.to.max(from.max(to));
            }
            _ => {
                self.finish();
                if let Some(way) = self.ways.get_mut(axis) {
                    way[usize::from(to < from)] += 1;
                }
                self.run = Some(Run {
                    axis,
                    key: key(at),
                    at,
                    from: from.min(to),
                    to: from.max(to),
                });
            }
        }
    }

    fn finish(&mut self) {
        if let Some(run) = self.run.take()
            && let Some(rows) = self.rows.get_mut(run.axis)
            && rows.len() < MOST
        {
            let longest = rows.entry(run.key).or_insert([run.from, run.from]);
            if run.to - run.from > longest[1] - longest[0] {
                *longest = [run.from, run.to];
            }
        }
    }

    /// The rows at the lowest height, where the path is a raster along one axis.
    pub(crate) fn rows(&mut self) -> Option<Rows> {
        self.finish();
        let axis = usize::from(self.across[1] > self.across[0]);
        let (along, other) = (self.across.get(axis)?, self.across.get(1 - axis)?);
        // A raster goes across the plate once or twice between rows. A spiral or rings do so at each turn, and their
        // steps cannot be found from their rows alone.
        let side = self.low.get(1 - axis)?;
        if *along == 0.0
            || *other > 2.0 * (side[1] - side[0]).max(0.0) + SAME
            || self.curved > *along
        {
            return None;
        }
        let rows = self.rows.get(axis)?;
        let length = |[from, to]: &[f64; 2]| to - from;
        let longest = rows.values().map(length).fold(0.0, f64::max);
        let long = || rows.iter().filter(|(_, r)| length(r) >= 0.5 * longest);
        let keys: Vec<i64> = long().map(|(key, _)| *key).collect();
        let from = long().map(|(_, r)| r[0]).fold(f64::NEG_INFINITY, f64::max);
        let to = long().map(|(_, r)| r[1]).fold(f64::INFINITY, f64::min);
        #[allow(clippy::cast_precision_loss)]
        let outermost = |key: Option<&i64>| key.map_or(f64::NAN, |k| *k as f64 / 10_000.0);
        let step = keys.windows(2).filter_map(|w| match w {
            [a, b] => Some(b - a),
            _ => None,
        });
        #[allow(clippy::cast_precision_loss)]
        let step = step.max().map(|s| s as f64 / 10_000.0);
        Some(Rows {
            count: keys.len(),
            step,
            axis,
            along: [from, to],
            across: [outermost(keys.first()), outermost(keys.last())],
            one_way: self
                .ways
                .get(axis)
                .is_some_and(|w| keys.len() > 1 && w.contains(&0)),
        })
    }

    /// The extents of the feed moves; `None` where nothing is known.
    pub(crate) fn cut(&self) -> Option<Sides> {
        self.cut.iter().all(|s| s[0] <= s[1]).then_some(self.cut)
    }

    /// Applies the rules of reach at the end.
    pub(crate) fn end(&mut self, reached: Option<[f64; 2]>, found: &mut FindingList) {
        let seen = reach::ReachSeen {
            all: self.all,
            cut: self.cut(),
            low: self.low,
            rows: self.rows(),
            lost: self.lost || text::cut_short(found),
            reached,
        };
        reach::at_end(&seen, &self.setup, found);
    }
}
