//! What a cutter leaves behind when it moves: the lowest that its underside reached over each cell.
//!
//! The closed form along a straight move: with `s` the cell's place ahead of the axis, the underside over it is a straight
//! line in `s` inside the flat, so its lowest is at one end of the stretch that passes over the cell. Pass order is
//! irrelevant and ramps come for nothing.

use super::super::Nm;
use super::super::cutter::{Cutter, root};
use super::{Plate, Round};

/// What one move did.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Swept {
    /// Metal taken off, in cells times nanometres.
    pub taken: i64,
    /// Deepest metal taken off one cell.
    pub deepest: Nm,
    /// Cells that were lowered.
    pub cells: usize,
    /// A screw head was run into.
    pub steel: bool,
    /// A clamp or stud was run into.
    pub clamp: bool,
}

impl Swept {}

/// A straight move, seen along itself.
struct Path<'a> {
    cutter: &'a Cutter,
    from: [Nm; 3],
    length: Nm,
    /// The move's X and Y.
    way: [Nm; 2],
    rise: Nm,
    /// The underside's tilt along the move and across it, nanometres a metre.
    along: i64,
    across: i64,
    lift: Nm,
}

const METRE: i64 = 1_000_000_000;

impl Plate {
    /// Moves the turning cutter's tip straight from one place to another; X and Y true, Z above the nominal top.
    pub fn sweep(&mut self, cutter: &Cutter, from: [Nm; 3], to: [Nm; 3]) -> Swept {
        let path = Path::new(cutter, from, to);
        let mut swept = Swept {
            steel: self.steel.iter().any(|r| path.meets(r)),
            clamp: self.clamps.iter().any(|r| path.meets(r)),
            ..Swept::default()
        };
        if from[2].min(to[2]) >= self.ceiling {
            return swept;
        }
        let radius = cutter.radius();
        let low = [0, 1].map(|i| from[i].min(to[i]) - radius);
        let high = [0, 1].map(|i| from[i].max(to[i]) + radius);
        let [columns, rows] = self.cells(low, high);
        let straight = path.way[0] == 0 || path.way[1] == 0;
        let cell = self.cell;
        let start = self.middle(columns.start, rows.start);
        // Cells are walked along the move where it follows an axis: the half-width of the flat is then one root a line.
        let along_y = straight && path.way[0] == 0 && path.way[1] != 0;
        let (lines, steps) = if along_y {
            (columns.clone(), rows.clone())
        } else {
            (rows.clone(), columns.clone())
        };
        for (n, line) in (0..).zip(lines) {
            let mut width: Option<(Nm, Option<Nm>)> = None;
            for (m, step) in (0..).zip(steps.clone()) {
                let (x, y, index) = if along_y {
                    (
                        start[0] + n * cell,
                        start[1] + m * cell,
                        step * self.columns + line,
                    )
                } else {
                    (
                        start[0] + m * cell,
                        start[1] + n * cell,
                        line * self.columns + step,
                    )
                };
                let (a, b) = path.seen(x - from[0], y - from[1]);
                if b.abs() > radius {
                    if straight {
                        break;
                    }
                    continue;
                }
                let flat = match width {
                    Some((of, flat)) if of == b => flat,
                    _ => path.flat_at(b),
                };
                width = Some((b, flat));
                let Some(lowest) = path.lowest(a, b, flat) else {
                    continue;
                };
                let Some(height) = self.heights.get_mut(index) else {
                    continue;
                };
                let off = Nm::from(*height) - lowest;
                if off > 0 {
                    *height = i32::try_from(lowest).unwrap_or(i32::MIN);
                    swept.taken += off;
                    swept.deepest = swept.deepest.max(off);
                    swept.cells += 1;
                }
            }
        }
        swept
    }
}

impl<'a> Path<'a> {
    fn new(cutter: &'a Cutter, from: [Nm; 3], to: [Nm; 3]) -> Self {
        let way = [to[0] - from[0], to[1] - from[1]];
        let length = root(way[0] * way[0] + way[1] * way[1]);
        let turned = |x: i64, y: i64| {
            if length == 0 {
                return x;
            }
            // Wide numbers: a tilt times a move can be long.
            let sum = i128::from(x) * i128::from(way[0]) + i128::from(y) * i128::from(way[1]);
            i64::try_from(sum / i128::from(length)).unwrap_or(0)
        };
        // A plunge reaches its lower end wherever it begins.
        let from = if length == 0 {
            [from[0], from[1], from[2].min(to[2])]
        } else {
            from
        };
        Self {
            cutter,
            from,
            length,
            way,
            rise: if length == 0 { 0 } else { to[2] - from[2] },
            along: turned(cutter.tilt_x, cutter.tilt_y),
            across: turned(cutter.tilt_y, -cutter.tilt_x),
            lift: cutter.lift(),
        }
    }

    /// An offset from the start as seen along the move: ahead, and to the left.
    fn seen(&self, x: Nm, y: Nm) -> (Nm, Nm) {
        match self.way {
            [0, 0] => (x, y),
            [w, 0] => (x * w.signum(), y * w.signum()),
            [0, w] => (y * w.signum(), -x * w.signum()),
            [wx, wy] => {
                let turned = |a: Nm, b: Nm, c: Nm, d: Nm| {
                    let sum = i128::from(a) * i128::from(b) + i128::from(c) * i128::from(d);
                    i64::try_from(sum / i128::from(self.length)).unwrap_or(0)
                };
                (turned(x, wx, y, wy), turned(y, wx, -x, wy))
            }
        }
    }

    /// Half the width of the flat, this far to the side of the axis; none outside it.
    fn flat_at(&self, b: Nm) -> Option<Nm> {
        let flat = self.cutter.flat();
        (b.abs() <= flat).then(|| root(flat * flat - b * b))
    }

    /// The lowest the underside gets over a cell that lies `a` ahead of the start and `b` to the side.
    fn lowest(&self, a: Nm, b: Nm, flat: Option<Nm>) -> Option<Nm> {
        // The cell's place ahead of the axis goes from `a` down to `a - length`.
        let (first, last) = (a, a - self.length);
        if let Some(half) = flat {
            let (high, low) = (first.min(half), last.max(-half));
            if low <= high {
                return Some(self.under(a, b, low).min(self.under(a, b, high)));
            }
        }
        let s = 0.clamp(last, first);
        let distance = root(s * s + b * b);
        (distance <= self.cutter.radius())
            .then(|| self.under(a, b, s) + self.cutter.round(distance))
    }

    /// The underside over the cell when it lies `s` ahead of the axis.
    fn under(&self, a: Nm, b: Nm, s: Nm) -> Nm {
        let climbed = if self.length == 0 {
            0
        } else {
            self.rise * (a - s) / self.length
        };
        self.from[2] + climbed + self.lift + (self.along * s + self.across * b) / METRE
    }

    /// Whether the cutter runs into a round thing that stands above its tip.
    fn meets(&self, thing: &Round) -> bool {
        let lowest = self.from[2] + self.rise.min(0);
        if lowest >= thing.top {
            return false;
        }
        let (a, b) = self.seen(thing.at[0] - self.from[0], thing.at[1] - self.from[1]);
        let beyond = a - a.clamp(0, self.length);
        root(beyond * beyond + b * b) < self.cutter.radius() + thing.radius
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::{Cutter, MM, Nm};
    use super::super::Plate;

    const CELL: Nm = 50_000;

    fn cutter(tilt_x: i64, tilt_y: i64) -> Cutter {
        Cutter {
            diameter: 12 * MM,
            corner: 0,
            tilt_x,
            tilt_y,
            deepest: MM / 4,
        }
    }

    /// Rows along X, `step` apart; the highest and lowest left in the middle between the rows' ends.
    fn left_by_rows(cutter: &Cutter, step: Nm) -> (Nm, Nm) {
        let mut plate = Plate::flat([0, 0], [30 * MM, 40 * MM], CELL, 4 * MM);
        for row in 0..12 {
            let y = row * step - 12 * MM;
            plate.sweep(cutter, [-20 * MM, y, -100_000], [50 * MM, y, -100_000]);
        }
        let column = plate.columns / 2;
        let over = |y: Nm| usize::try_from(y / CELL).unwrap_or(0);
        let heights = (over(10 * MM)..over(30 * MM))
            .map(|row| Nm::from(plate.heights[row * plate.columns + column]));
        let (mut low, mut high) = (Nm::MAX, Nm::MIN);
        for height in heights {
            low = low.min(height);
            high = high.max(height);
        }
        (low, high)
    }

    fn near(found: Nm, wanted: Nm, within: Nm) {
        assert!(
            (found - wanted).abs() <= within,
            "{found} is not {wanted} within {within}"
        );
    }

    // The closed forms are derived from the geometry of a tilted disc and its copies; no source. 0.05 mm in 300 mm is
    // 166667 nm a metre; steps of 7.2 mm, 12 mm cutter. The cells' middles miss the true peak by half a cell's slope.
    const TILT: i64 = 166_667;
    const STEP: Nm = 7_200_000;

    #[test]
    fn tilt_across_the_rows_leaves_ridges_of_step_over_times_tilt() {
        let (low, high) = left_by_rows(&cutter(0, TILT), STEP);
        near(high - low, STEP * TILT / 1_000_000_000, 20);
        // Tilt does not bias the depth: the rim's lowest place is the tip.
        near(low, -100_000, 20);
    }

    #[test]
    fn tilt_along_the_rows_leaves_hollows() {
        // theta * (R - sqrt(R^2 - s^2/4)) = 166667e-9 * (6 - sqrt(36 - 12.96)) mm = 200.02 nm
        let (low, high) = left_by_rows(&cutter(TILT, 0), STEP);
        near(high - low, 200, 8);
        near(low, -100_000, 4);
    }

    #[test]
    fn tilt_both_ways_follows_the_general_form() {
        // h = theta * (R - sqrt(R^2 - (s theta / (2 |theta_x|))^2)) with theta_x = theta_y: 0.529 s theta_y = 635 nm
        let (low, high) = left_by_rows(&cutter(TILT, TILT), STEP);
        near(high - low, 635, 20);
    }

    #[test]
    fn the_volume_of_a_slot_is_its_depth_times_its_plan() {
        let mut plate = Plate::flat([0, 0], [60 * MM, 40 * MM], CELL, 4 * MM);
        let swept = plate.sweep(
            &cutter(0, 0),
            [15 * MM, 20 * MM, -MM / 5],
            [45 * MM, 20 * MM, -MM / 5],
        );
        // 12 * 30 + pi 6^2 = 473.097 mm2, 0.2 mm deep
        let volume = swept.taken * (CELL / 1000) * (CELL / 1000) / MM;
        near(volume, 94_619_467, 94_619_467 / 500);
        assert_eq!(swept.deepest, MM / 5);
        assert!(!swept.steel && !swept.clamp);
        // The same slot at a slant takes the same.
        let mut plate = Plate::flat([0, 0], [60 * MM, 60 * MM], CELL, 4 * MM);
        let slant = plate.sweep(
            &cutter(0, 0),
            [15 * MM, 20 * MM, -MM / 5],
            [39 * MM, 38 * MM, -MM / 5],
        );
        near(slant.taken, swept.taken, swept.taken / 500);
        // And a plunge a disc.
        let mut plate = Plate::flat([0, 0], [60 * MM, 40 * MM], CELL, 4 * MM);
        let hole = plate.sweep(
            &cutter(0, 0),
            [20 * MM, 20 * MM, MM],
            [20 * MM, 20 * MM, -MM / 5],
        );
        near(
            hole.taken * (CELL / 1000) * (CELL / 1000) / MM,
            22_619_467,
            60_000,
        );
    }

    #[test]
    fn a_corner_leaves_a_strip_where_rows_are_too_far_apart() {
        let corner = Cutter {
            corner: MM,
            ..cutter(0, 0)
        };
        // Flat 10 mm wide: rows 10 mm apart just meet, rows 11 mm apart leave the round of the corner standing:
        // 1 - sqrt(1 - 0.5^2) = 0.13397 mm.
        let (low, high) = left_by_rows(&corner, 10 * MM);
        near(high - low, 0, 1_000);
        let (low, high) = left_by_rows(&corner, 11 * MM);
        near(high - low, 100_000, 1);
        let deep = Cutter {
            corner: MM,
            ..cutter(0, 0)
        };
        let mut plate = Plate::flat([0, 0], [30 * MM, 40 * MM], CELL, 4 * MM);
        for y in [10 * MM, 21 * MM] {
            plate.sweep(&deep, [-20 * MM, y, -MM / 2], [50 * MM, y, -MM / 2]);
        }
        let middle =
            usize::try_from(15_500_000 / CELL).unwrap() * plate.columns + plate.columns / 2;
        near(Nm::from(plate.heights[middle]) + MM / 2, 133_975, 30_000);
    }

    #[test]
    fn a_ramp_goes_down_evenly() {
        let mut plate = Plate::flat([0, 0], [100 * MM, 40 * MM], CELL, 4 * MM);
        plate.sweep(
            &cutter(0, 0),
            [10 * MM, 20 * MM, 0],
            [90 * MM, 20 * MM, -80_000],
        );
        let at = |x: Nm| {
            let column = usize::try_from(x / CELL).unwrap();
            Nm::from(plate.heights[plate.rows / 2 * plate.columns + column])
        };
        // The trailing rim passes a place when the axis is 6 mm beyond it.
        near(at(50 * MM), -46_000, 60);
        near(at(90 * MM), -80_000, 60);
    }

    #[test]
    fn steel_and_clamps_are_run_into_only_below_their_tops() {
        let cutter = cutter(0, 0);
        let mut plate = Plate::flat([0, 0], [240 * MM, 120 * MM], MM / 2, MM);
        let row =
            |plate: &mut Plate, y, z| plate.sweep(&cutter, [-20 * MM, y, z], [260 * MM, y, z]);
        assert!(!row(&mut plate, 30 * MM, -MM + 1).steel);
        assert!(row(&mut plate, 30 * MM, -MM - 1).steel);
        assert!(!row(&mut plate, 60 * MM, -2 * MM).steel);
        assert!(row(&mut plate, 60 * MM, 17 * MM).clamp);
        assert!(!row(&mut plate, 60 * MM, 19 * MM).clamp);
        assert!(!row(&mut plate, 0, 17 * MM).clamp);
    }
}
