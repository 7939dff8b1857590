//! The coverage of a plate: takes in a path piece by piece, and at the end gives the part of the plate that it covered.

use super::lines::Lines;
use super::passes::{PassFinder, Passes};
use super::rectangle::PlatePart;
use super::simplify::{Chord, Simplifier};
use super::uncovered::{LineDirection, Patch, Uncovered};
use crate::scene::Rect;

/// Sagitta of the arc over each of the chords that replace it, mm.
pub(crate) const SAGITTA: f64 = 0.002;
/// Number of lines of a family over the longer side of the plate. No uncovered patch longer than their pitch is missed.
const LINES: f64 = 1500.0;
/// Smallest pitch, mm.
const NARROWEST: f64 = 0.05;

/// The area to cover, and the cutter that covers it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct CoverageTask {
    /// The plate in the program's coordinates.
    pub plate: Rect,
    /// Radius of the cutter's flat: half the diameter minus the corner radius, mm.
    pub flat: f64,
    /// Highest Z of the tip at which it cuts the plane, including the tolerance, mm.
    pub depth: f64,
}

/// Follows a path and stores what it covers. Memory does not grow with the path.
#[derive(Clone, Debug)]
pub(crate) struct CoverageTracker {
    task: CoverageTask,
    simplifier: Simplifier,
    rows: Lines,
    columns: Lines,
    passes: PassFinder,
}

/// The parts of a plate that a path covered and did not cover.
#[derive(Clone, PartialEq, Debug)]
pub struct Coverage {
    /// The area to cover, and the cutter.
    pub task: CoverageTask,
    /// Uncovered area as the rows measure it, mm2.
    pub by_rows: f64,
    /// Uncovered area as the columns measure it, mm2.
    pub by_columns: f64,
    /// The uncovered patches: those found by the lines across the passes, plus those that only the other lines show.
    pub missed: Uncovered,
    /// Distance between neighbouring lines, mm: no patch longer than that in X or Y is missed.
    pub pitch: f64,
    /// The passes and the steps between them.
    pub passes: Passes,
}

impl CoverageTracker {
    /// A tracker for this plate; `None` where the plate has no area or the cutter no flat.
    pub(crate) fn new(task: CoverageTask) -> Option<Self> {
        let plate = task.plate;
        let flat = task.flat > 0.0 && task.flat.is_finite();
        if !flat || !plate.is_sound() || task.depth.is_nan() {
            return None;
        }
        let [long, wide] = plate.size();
        let pitch = (long.max(wide) / LINES).max(NARROWEST);
        let (x, y) = ([plate.low[0], plate.high[0]], [plate.low[1], plate.high[1]]);
        Some(Self {
            task,
            simplifier: Simplifier::default(),
            rows: Lines::over(x, y, pitch),
            columns: Lines::over(y, x, pitch),
            passes: PassFinder::over(plate),
        })
    }

    /// Highest Z at which the tip cuts the plane.
    #[inline]
    pub(crate) fn depth(&self) -> f64 {
        self.task.depth
    }

    /// Adds a straight cut of the block at `line`; `own` is how far, in mm, the cut may deviate from the path itself.
    /// The part of the cut above the depth is left out.
    #[inline]
    pub(crate) fn straight(&mut self, from: [f64; 3], to: [f64; 3], own: f64, line: u32) {
        let depth = self.task.depth;
        let (mut a, mut b) = ([from[0], from[1]], [to[0], to[1]]);
        if from[2] > depth || to[2] > depth {
            if from[2] > depth && to[2] > depth {
                return;
            }
            let t = (depth - from[2]) / (to[2] - from[2]);
            let at = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
            if from[2] > depth {
                a = at;
            } else {
                b = at;
            }
        }
        if let Some(chord) = self.simplifier.push(a, b, own, line) {
            self.take(&chord);
        }
    }

    fn take(&mut self, chord: &Chord) {
        let (a, b) = (chord.from, chord.to);
        if !a.iter().chain(&b).all(|v| v.is_finite()) {
            return;
        }
        self.passes.take(chord);
        let r = self.task.flat - chord.stray;
        if r <= 0.0 {
            return;
        }
        self.rows.sweep(a, b, r);
        self.columns.sweep([a[1], a[0]], [b[1], b[0]], r);
    }

    /// The coverage of the path so far.
    pub(crate) fn finish(mut self) -> Coverage {
        if let Some(chord) = self.simplifier.end() {
            self.take(&chord);
        }
        let passes = self.passes.finish();
        let rows = Uncovered::of(&self.rows, LineDirection::Rows);
        let columns = Uncovered::of(&self.columns, LineDirection::Columns);
        let (by_rows, by_columns) = (rows.area, columns.area);
        let pitch = self.rows.pitch.max(self.columns.pitch);
        // Lines across the passes meet the edges of the passes at right angles and measure them exactly. Lines along
        // the passes may run on an edge or close to one.
        let (mut missed, other, across) = if passes.along_x {
            (columns, rows, 0)
        } else {
            (rows, columns, 1)
        };
        missed.add_narrow_patches(&other, across, pitch);
        Coverage {
            task: self.task,
            by_rows,
            by_columns,
            missed,
            pitch,
            passes,
        }
    }
}

impl Coverage {
    /// Uncovered area, mm2.
    pub fn area(&self) -> f64 {
        self.missed.area
    }

    /// Uncovered area, in percent of the plate.
    pub(crate) fn percent(&self) -> f64 {
        100.0 * self.area() / self.task.plate.area()
    }

    /// The largest uncovered patch, and its position on the plate.
    pub(crate) fn largest(&self) -> Option<(&Patch, PlatePart)> {
        let patch = self.missed.patches.first()?;
        Some((patch, self.task.plate.place(&patch.frame, self.pitch)))
    }
}
