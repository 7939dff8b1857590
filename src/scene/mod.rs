//! A plate seen from above, as data: what is on it, what a cut leaves of it, the path of the cutter over it.
//!
//! Whoever has something to show of a plate makes a [`Scene`]: the touched plate, a program, the practice plate. Three
//! renderers show any scene: characters (`raster`, painted by the screen), words, and SVG. The same mark means the same in
//! all of them, because each takes it from the one table in `marks`.
//!
//! Lengths are millimetres: X to the right, Y away from the operator.

pub(crate) mod marks;
pub(crate) mod raster;
mod rect;
pub(crate) mod svg;
pub(crate) mod words;

#[cfg(test)]
mod tests;

pub(crate) use marks::Mark;
pub(crate) use rect::{Rect, one_place};

/// A plate seen from above.
#[derive(Clone, PartialEq, Debug)]
pub struct Scene {
    /// What it shows, as a title.
    pub title: String,
    /// The outline of the plate.
    pub plate: Rect,
    /// What is in sight: the plate at least.
    pub sight: Rect,
    /// What the sides of the drawing are called.
    pub axes: Axes,
    /// What becomes of each part of the plate, where that is known.
    pub ground: Option<Ground>,
    /// Parts of the plate whose skin stays, over the ground.
    pub left: Vec<Rect>,
    /// Clamps and the like.
    pub obstacles: Vec<Obstacle>,
    /// The path of the cutter, in the order of execution.
    pub path: Vec<Trace>,
    /// Touched points.
    pub touches: Vec<Touch>,
    /// Single places: where the path starts and ends, where a finding lies.
    pub spots: Vec<(Mark, [f64; 2])>,
    /// The cutter.
    pub cutter: Option<Cutter>,
    /// The levels of the feed in words, the lowest first; none where there is only one.
    pub levels: Vec<String>,
    /// What the legend says of a mark besides its word.
    pub details: Vec<(Mark, String)>,
    /// Sentences below the legend.
    pub notes: Vec<String>,
    /// Most lines of characters that drawing and legend take together; none where only the window bounds them.
    pub most_lines: Option<usize>,
}

/// The sides of a drawing, in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Axes {
    /// The side away from the operator.
    pub back: &'static str,
    /// The side where the operator stands.
    pub front: &'static str,
    /// The coordinates of the plate's front left and back right corner, where they matter.
    pub corners: Option<[String; 2]>,
}

impl Default for Axes {
    fn default() -> Self {
        Self {
            back: "back",
            front: "front, where the operator stands",
            corners: None,
        }
    }
}

/// Equal cells over the plate.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ground {
    /// Cells from left to right.
    pub columns: usize,
    /// Row by row from the front, each row from the left.
    pub cells: Vec<Mark>,
}

impl Ground {
    /// Rows of cells.
    pub(crate) fn rows(&self) -> usize {
        self.cells.len() / self.columns.max(1)
    }

    /// The cell of a column and a row.
    pub(crate) fn at(&self, column: usize, row: usize) -> Option<Mark> {
        let inside = column < self.columns;
        inside.then(|| self.cells.get(row * self.columns + column).copied())?
    }
}

/// Something round that the cutter must not meet.
#[derive(Clone, PartialEq, Debug)]
pub struct Obstacle {
    /// Its middle.
    pub at: [f64; 2],
    /// Its radius.
    pub radius: f64,
    /// What it is.
    pub name: String,
}

/// A connected part of the path.
#[derive(Clone, PartialEq, Debug)]
pub struct Trace {
    /// How the cutter moves along it.
    pub mark: Mark,
    /// Which level of the feed it is, counted from the lowest; nought for rapids.
    pub level: usize,
    /// Its corners in order.
    pub points: Vec<[f64; 2]>,
}

/// A touched point.
#[derive(Clone, PartialEq, Debug)]
pub struct Touch {
    /// Where it is.
    pub at: [f64; 2],
    /// Its name.
    pub name: String,
    /// Its value in figures; the unit is in the legend.
    pub value: String,
}

/// The cutter, to the scale of the plate.
#[derive(Clone, PartialEq, Debug)]
pub struct Cutter {
    /// Its diameter.
    pub diameter: f64,
    /// The same in words: `12 mm`.
    pub words: String,
    /// Where it is drawn; where it stands in nobody's way if it is nowhere.
    pub at: Option<[f64; 2]>,
}

impl Scene {
    /// A bare plate.
    pub(crate) fn of(plate: Rect, title: String) -> Self {
        Self {
            title,
            plate,
            sight: plate,
            axes: Axes::default(),
            ground: None,
            left: Vec::new(),
            obstacles: Vec::new(),
            path: Vec::new(),
            touches: Vec::new(),
            spots: Vec::new(),
            cutter: None,
            levels: Vec::new(),
            details: Vec::new(),
            notes: Vec::new(),
            most_lines: None,
        }
    }

    /// Brings a rectangle into sight.
    pub(crate) fn show(&mut self, part: &Rect) {
        for axis in 0..2 {
            self.sight.low[axis] = self.sight.low[axis].min(part.low[axis]);
            self.sight.high[axis] = self.sight.high[axis].max(part.high[axis]);
        }
    }

    /// Every mark that appears in it, the quietest first.
    pub(crate) fn marks(&self) -> Vec<Mark> {
        let ground = self.ground.iter().flat_map(|g| g.cells.iter().copied());
        let mut all: Vec<Mark> = ground
            .chain(self.left.iter().map(|_| Mark::Stays))
            .chain(self.obstacles.iter().map(|_| Mark::Obstacle))
            .chain(self.path.iter().map(|t| t.mark))
            .chain(self.touches.iter().map(|_| Mark::Touch))
            .chain(self.spots.iter().map(|(mark, _)| *mark))
            .chain(self.cutter.iter().map(|_| Mark::Cutter))
            .collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// The legend's entry for a mark: its word and what the scene adds to it.
    pub(crate) fn meaning(&self, mark: Mark) -> String {
        let mut text = mark.word().to_owned();
        let levels = (mark == Mark::Feed && !self.levels.is_empty())
            .then(|| format!("lowest first, {}", self.levels.join(", ")));
        let details = self.details.iter().filter(|(m, _)| m.word() == mark.word());
        let details: Vec<&str> = details
            .map(|d| d.1.as_str())
            .chain(levels.as_deref())
            .collect();
        if !details.is_empty() {
            text.push_str(": ");
            text.push_str(&details.join("; "));
        }
        text
    }

    /// The legend: one entry for each meaning among these marks.
    pub(crate) fn legend(&self, marks: &[Mark]) -> Vec<(Mark, String)> {
        let mut out: Vec<(Mark, String)> = Vec::new();
        for mark in marks {
            // The ten heights share one entry, and so do the findings.
            if !out.iter().any(|(m, _)| m.word() == mark.word()) {
                out.push((*mark, self.meaning(*mark)));
            }
        }
        out
    }
}
