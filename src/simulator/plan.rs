//! The practice plate as a scene: where old skin is left, and the heights it was found with.

use super::plate::SKIN;
use super::words::length_with_unit;
use super::{MM, Nm, Plate};
use crate::quantity::UnitSystem;
use crate::scene::words::ninth;
use crate::scene::{Ground, Mark, Obstacle, Rect, Scene};

/// Most patches along the longer side.
const PATCHES: usize = 120;

impl Plate {
    /// The cells of one patch of a grid of `across` by `down`, as indices; patches count from the left and from the front.
    fn patch(&self, [across, down]: [usize; 2], i: usize, j: usize) -> impl Iterator<Item = usize> {
        let part = |n: usize, of: usize, all: usize| {
            n * all / of..((n + 1) * all / of).max(n * all / of + 1)
        };
        let columns = part(i, across, self.columns);
        let rows = part(j, down, self.rows);
        let wide = self.columns;
        rows.flat_map(move |row| columns.clone().map(move |column| row * wide + column))
    }

    /// Whether any of a patch still has its old skin.
    fn has_skin(&self, grid: [usize; 2], i: usize, j: usize) -> bool {
        self.patch(grid, i, j).any(|index| {
            let both = self.found.get(index).zip(self.heights.get(index));
            both.is_some_and(|(found, now)| found - now < SKIN)
        })
    }

    /// The mean height of a patch, as found or now.
    fn mean(&self, heights: &[i32], grid: [usize; 2], i: usize, j: usize) -> Nm {
        let mut sum = (0, 0);
        for height in self
            .patch(grid, i, j)
            .filter_map(|index| heights.get(index))
        {
            sum = (sum.0 + Nm::from(*height), sum.1 + 1);
        }
        sum.0 / sum.1.max(1)
    }

    /// Patches that are about square.
    fn grid(&self) -> [usize; 2] {
        let most = self.columns.max(self.rows).max(1);
        [self.columns, self.rows].map(|n| (n * PATCHES.min(most) / most).max(1))
    }
}

/// A length for a drawing, mm.
fn mm(nm: Nm) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let [length, one] = [nm, MM].map(|n| n as f64);
    length / one
}

/// The plate with its ground, from its front left corner.
fn scene(plate: &Plate, title: &str, mark: impl Fn([usize; 2], usize, usize) -> Mark) -> Scene {
    let mut scene = Scene::of(
        Rect::between([0.0, 0.0], plate.size.map(mm)),
        title.to_owned(),
    );
    let grid @ [columns, rows] = plate.grid();
    let all = (0..rows).flat_map(|j| (0..columns).map(move |i| (i, j)));
    scene.ground = Some(Ground {
        columns,
        cells: all.map(|(i, j)| mark(grid, i, j)).collect(),
    });
    scene
}

/// Where old skin is left, and what stands beside the plate.
pub(crate) fn face(plate: &Plate) -> Scene {
    let title = "The face of the plate from above";
    let mut scene = scene(plate, title, |grid, i, j| {
        if plate.has_skin(grid, i, j) {
            Mark::Stays
        } else {
            Mark::Clean
        }
    });
    for clamp in &plate.clamps {
        let at = [0, 1].map(|k| mm(clamp.at[k] - plate.corner[k]));
        let radius = mm(clamp.radius);
        scene.show(&Rect::between(at, at).grown(radius));
        scene.obstacles.push(Obstacle {
            at,
            radius,
            name: "clamp".to_owned(),
        });
    }
    let share = format!("{} of the face", thousandths(plate.cleaned()));
    scene.details.push((Mark::Clean, share));
    scene
}

/// The hidden heights as they were found.
pub(crate) fn relief(plate: &Plate) -> Scene {
    let (low, high) = plate.found_extremes();
    let span = (high - low).max(1);
    scene(plate, "The plate as found, from above", |grid, i, j| {
        let mean = plate.mean(&plate.found, grid, i, j);
        let level = ((mean - low) * 10 / span).clamp(0, 9);
        Mark::Relief(u8::try_from(level).unwrap_or(0))
    })
}

/// A share in thousandths as a percentage.
pub(crate) fn thousandths(share: u64) -> String {
    format!("{}.{} %", share / 10, share % 10)
}

/// The hidden heights of nine parts, found and now, in numbers.
pub(crate) fn heights_in_numbers(plate: &Plate, system: UnitSystem) -> Vec<String> {
    let mut lines = Vec::new();
    for row in 0..3 {
        for column in 0..3 {
            let found = plate.mean(&plate.found, [3, 3], column, row);
            let now = plate.mean(&plate.heights, [3, 3], column, row);
            lines.push(format!(
                "{}: found at {}, now {}",
                ninth(column, row),
                length_with_unit(found, system),
                length_with_unit(now, system)
            ));
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::{face, relief};
    use crate::scene::{Mark, words};
    use crate::simulator::{Cutter, MM, Plate};

    #[test]
    fn a_row_shows_as_clean_from_left_to_right() {
        let mut plate = Plate::flat([0, 0], [240 * MM, 120 * MM], MM / 2, 4 * MM);
        let ground = face(&plate).ground.unwrap();
        assert!(ground.cells.iter().all(|m| *m == Mark::Stays));
        let cutter = Cutter {
            diameter: 50 * MM,
            corner: 0,
            tilt_x: 0,
            tilt_y: 0,
            deepest: MM,
        };
        plate.sweep(&cutter, [-30 * MM, 0, -MM / 10], [270 * MM, 0, -MM / 10]);
        let scene = face(&plate);
        let ground = scene.ground.clone().unwrap();
        assert_eq!([ground.columns, ground.rows()], [120, 60]);
        let row = |n: usize| &ground.cells[n * 120..(n + 1) * 120];
        // 25 of 120 mm, two to a row.
        assert!(row(11).iter().all(|m| *m == Mark::Clean));
        assert!(row(12).contains(&Mark::Stays));
        assert!(row(59).iter().all(|m| *m == Mark::Stays));
        let words = words::lines(&scene);
        assert!(
            words.contains(&"back middle: old skin stays.".to_owned()),
            "{words:?}"
        );
        assert!(
            words.iter().any(|w| w.starts_with("clean: 20.")),
            "{words:?}"
        );
        assert!(
            words.contains(&"clamp at X265 Y60.".to_owned()),
            "{words:?}"
        );
        let levels = relief(&plate).ground.unwrap();
        assert!(levels.cells.iter().all(|m| matches!(m, Mark::Relief(_))));
    }
}
