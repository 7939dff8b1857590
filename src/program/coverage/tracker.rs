//! The whole of it: a path goes by piece by piece, and at the end it is told what of the plate it reached.

use super::lines::Lines;
use super::passes::{PassFinder, Passes};
use super::rectangle::PlatePart;
use super::simplify::{Chord, Simplifier};
use super::uncovered::{LineDirection, Patch, Uncovered};
use crate::scene::Rect;

/// The arc's sagitta over each of the chords put in its place, mm.
pub const SAGITTA: f64 = 0.002;
/// Lines of a family over the longer side of the plate; nothing longer than their pitch stays unseen.
const LINES: f64 = 1500.0;
/// Narrowest pitch, mm.
const NARROWEST: f64 = 0.05;

/// What is to be reached, and with what.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct CoverageTask {
    /// The plate in the program's coordinates.
    pub plate: Rect,
    /// Radius of the cutter's flat: half the diameter less the corner, mm.
    pub flat: f64,
    /// Highest Z of the tip at which it cuts the plane, its tolerance included, mm.
    pub depth: f64,
}

/// Watches a path and keeps what it reaches. Memory does not grow with the path.
#[derive(Clone, Debug)]
pub struct CoverageTracker {
    task: CoverageTask,
    simplifier: Simplifier,
    rows: Lines,
    columns: Lines,
    passes: PassFinder,
}

/// What a path reached of a plate, and what not.
#[derive(Clone, PartialEq, Debug)]
pub struct Coverage {
    /// What it was to do.
    pub task: CoverageTask,
    /// Area not reached as the rows have it, mm2.
    pub by_rows: f64,
    /// Area not reached as the columns have it, mm2.
    pub by_columns: f64,
    /// What was not reached: by the lines across the passes, and what only the others show.
    pub missed: Uncovered,
    /// Distance between neighbouring lines: nothing longer than that in X or Y is unseen.
    pub pitch: f64,
    /// The passes and the steps between them.
    pub passes: Passes,
}

impl CoverageTracker {
    /// Over a plate; nothing where the plate has no area or the cutter no flat.
    pub fn new(task: CoverageTask) -> Option<Self> {
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
    pub fn depth(&self) -> f64 {
        self.task.depth
    }

    /// Takes a straight cut of a block at `line`; `own` is how far it may stray from the path itself. The part of it
    /// above the depth is left out.
    #[inline]
    pub fn straight(&mut self, from: [f64; 3], to: [f64; 3], own: f64, line: u32) {
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

    /// What was reached.
    pub fn finish(mut self) -> Coverage {
        if let Some(chord) = self.simplifier.end() {
            self.take(&chord);
        }
        let passes = self.passes.finish();
        let rows = Uncovered::of(&self.rows, LineDirection::Rows);
        let columns = Uncovered::of(&self.columns, LineDirection::Columns);
        let (by_rows, by_columns) = (rows.area, columns.area);
        let pitch = self.rows.pitch.max(self.columns.pitch);
        // Lines across the passes meet the passes' rims squarely and measure them exactly; lines along them may fall on
        // a rim or beside it.
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
    /// Area not reached, mm2.
    pub fn area(&self) -> f64 {
        self.missed.area
    }

    /// The same in percent of the plate.
    pub fn percent(&self) -> f64 {
        100.0 * self.area() / self.task.plate.area()
    }

    /// The largest patch not reached, and where it lies.
    pub fn largest(&self) -> Option<(&Patch, PlatePart)> {
        let patch = self.missed.patches.first()?;
        Some((patch, self.task.plate.place(&patch.frame, self.pitch)))
    }
}
