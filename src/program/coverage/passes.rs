//! The distance between passes, and the program lines that cut them.
//!
//! The crossings of the path's centre with three stations of the plate are stored in both directions; the main
//! direction of the path decides which crossings count.

use super::simplify::Chord;
use crate::scene::Rect;

/// Positions along the plate where crossings are recorded, as fractions of its extent.
const STATIONS: [f64; 3] = [0.25, 0.5, 0.75];
/// Most crossings stored at a station.
const MOST: usize = 50_000;
/// Passes nearer than this, in mm, are the same pass, cut again.
const SAME: f64 = 0.01;

/// Two neighbouring passes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Step {
    /// Distance between the two passes, mm.
    pub wide: f64,
    /// The coordinates of the two passes across the plate, the lower first, mm.
    pub between: [f64; 2],
    /// The program lines that cut them, in the same order.
    pub lines: [u32; 2],
    /// The position along the passes where this was measured, mm.
    pub at: f64,
}

/// The passes over a plate.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Passes {
    /// Whether the passes run along X; otherwise along Y.
    pub along_x: bool,
    /// Number of passes across the middle of the plate.
    pub count: usize,
    /// Every step between neighbouring passes over the plate, the widest first.
    pub steps: Vec<Step>,
    /// Whether there were more crossings than can be stored, so that steps may be missing.
    pub cut_off: bool,
}

impl Passes {
    /// The widest step.
    pub(crate) fn widest(&self) -> Option<&Step> {
        self.steps.first()
    }

    /// The median of the steps, by width, mm.
    pub(crate) fn usual(&self) -> Option<f64> {
        self.steps.get(self.steps.len() / 2).map(|s| s.wide)
    }

    /// The step that contains a part of the plate, where the part is between two passes.
    pub(crate) fn step_at(&self, part: &Rect) -> Option<&Step> {
        let across = usize::from(self.along_x);
        let along = 1 - across;
        let middle = |axis: usize| {
            let low = part.low.get(axis).copied().unwrap_or_default();
            f64::midpoint(low, part.high.get(axis).copied().unwrap_or_default())
        };
        let (u, s) = (middle(along), middle(across));
        self.steps
            .iter()
            .filter(|step| step.between[0] <= s && s <= step.between[1])
            .min_by(|a, b| (a.at - u).abs().total_cmp(&(b.at - u).abs()))
    }
}

/// Crossings with the stations of one direction.
#[derive(Clone, Debug, Default)]
struct Crossings {
    stations: [f64; 3],
    marks: [Vec<(f64, u32)>; 3],
    long: f64,
}

impl Crossings {
    /// Records the crossings of the piece from `a` to `b`, both as `[along, across]`.
    fn take(&mut self, a: [f64; 2], b: [f64; 2], line: u32, cut_off: &mut bool) {
        self.long += (b[0] - a[0]).abs();
        for (station, marks) in self.stations.iter().zip(&mut self.marks) {
            if (a[0] <= *station) != (b[0] <= *station) {
                let t = (station - a[0]) / (b[0] - a[0]);
                if marks.len() < MOST {
                    marks.push((a[1] + t * (b[1] - a[1]), line));
                } else {
                    *cut_off = true;
                }
            }
        }
    }
}

/// Collects the passes while the path is followed.
#[derive(Clone, Debug)]
pub(crate) struct PassFinder {
    plate: Rect,
    along: [Crossings; 2],
    cut_off: bool,
}

impl PassFinder {
    /// A collector for this plate.
    pub(crate) fn over(plate: Rect) -> Self {
        let stations = |low: f64, high: f64| Crossings {
            stations: STATIONS.map(|share| low + share * (high - low)),
            ..Crossings::default()
        };
        Self {
            plate,
            along: [
                stations(plate.low[0], plate.high[0]),
                stations(plate.low[1], plate.high[1]),
            ],
            cut_off: false,
        }
    }

    /// Adds a piece of the path.
    pub(crate) fn take(&mut self, chord: &Chord) {
        let (a, b) = (chord.from, chord.to);
        let [x, y] = &mut self.along;
        x.take(a, b, chord.line, &mut self.cut_off);
        y.take([a[1], a[0]], [b[1], b[0]], chord.line, &mut self.cut_off);
    }

    /// The passes found.
    pub(crate) fn finish(self) -> Passes {
        let Self {
            plate,
            along: [x, y],
            cut_off,
        } = self;
        let along_x = x.long >= y.long;
        let (mut crossings, low, high) = if along_x {
            (x, plate.low[1], plate.high[1])
        } else {
            (y, plate.low[0], plate.high[0])
        };
        let mut steps = Vec::new();
        let mut counts = [0; 3];
        let stations = crossings.stations.iter().zip(&mut crossings.marks);
        for ((at, marks), count) in stations.zip(&mut counts) {
            marks.sort_by(|a, b| a.0.total_cmp(&b.0));
            marks.dedup_by(|next, last| next.0 - last.0 < SAME);
            *count = marks.len();
            for pair in marks.windows(2) {
                if let [a, b] = pair
                    && a.0 < high
                    && b.0 > low
                {
                    steps.push(Step {
                        wide: b.0 - a.0,
                        between: [a.0, b.0],
                        lines: [a.1, b.1],
                        at: *at,
                    });
                }
            }
        }
        steps.sort_by(|a, b| b.wide.total_cmp(&a.wide));
        Passes {
            along_x,
            count: counts[1],
            steps,
            cut_off,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{PassFinder, Passes};
    use crate::program::coverage::simplify::Chord;
    use crate::scene::Rect;

    /// A zigzag along X at these Y, with one program line for each row.
    fn zigzag(rows: &[f64], turned: bool) -> Passes {
        let plate = Rect::between([0.0, 0.0], [100.0, 100.0]);
        let mut finder = PassFinder::over(plate);
        let mut at = [-10.0, rows[0]];
        let mut line = 1;
        let mut go = |to: [f64; 2]| {
            let swap = |p: [f64; 2]| if turned { [p[1], p[0]] } else { p };
            finder.take(&Chord {
                from: swap(at),
                to: swap(to),
                stray: 0.0,
                line,
            });
            line += 1;
            at = to;
        };
        for (n, row) in rows.iter().enumerate() {
            go([if n % 2 == 0 { -10.0 } else { 110.0 }, *row]);
            go([if n % 2 == 0 { 110.0 } else { -10.0 }, *row]);
        }
        finder.finish()
    }

    #[test]
    fn steps_are_sorted_widest_first_with_the_lines_of_both_passes() {
        for turned in [false, true] {
            let passes = zigzag(&[5.0, 15.0, 25.0, 37.0, 47.0, 57.0], turned);
            assert_eq!((passes.count, passes.along_x), (6, !turned));
            let widest = passes.widest().unwrap();
            assert!((widest.wide - 12.0).abs() < 1e-9);
            assert_eq!(widest.lines, [6, 8]);
            assert_eq!(passes.usual(), Some(10.0));
            let part = Rect::between([49.0, 30.0], [51.0, 31.0]);
            let part = if turned {
                Rect::between([30.0, 49.0], [31.0, 51.0])
            } else {
                part
            };
            assert_eq!(passes.step_at(&part).unwrap().lines, [6, 8]);
        }
    }

    #[test]
    fn a_row_cut_twice_is_one_pass_and_rows_off_the_plate_make_no_step() {
        let passes = zigzag(&[-30.0, -20.0, 50.0, 50.0, 60.0], false);
        assert_eq!(passes.count, 4);
        let wide: Vec<f64> = passes.steps.iter().map(|s| s.wide).collect();
        assert_eq!(wide, [70.0, 70.0, 70.0, 10.0, 10.0, 10.0]);
    }
}
