//! Touching the plate with the cutter: its rim finds the highest metal under a ring of its diameter, not the height under
//! its middle, and each touch leaves a mark.

use super::super::Nm;
use super::super::cutter::{Cutter, root};
use super::Plate;

/// An end mill's end is dished: only its rim touches until it is this deep.
const DISH: Nm = 50_000;

impl Plate {
    /// The height at which the tip of a turning cutter first touches, its axis at `at`; none beside the plate.
    pub(crate) fn contact(&self, cutter: &Cutter, at: [Nm; 2]) -> Option<Nm> {
        let mut highest = None;
        self.under_rim(cutter, at, false, |_, height, rise| {
            highest = highest.max(Some(Nm::from(height) - rise));
        });
        highest
    }

    /// The same for one that stands still, resting on the four places of its rim along the axes.
    pub(crate) fn contact_standing(&self, cutter: &Cutter, at: [Nm; 2]) -> Option<Nm> {
        let mut highest = None;
        let near = self.cell;
        self.under_rim(cutter, at, false, |[dx, dy], height, rise| {
            if dx.abs() <= near || dy.abs() <= near {
                highest = highest.max(Some(Nm::from(height) - rise));
            }
        });
        highest
    }

    /// Brings the tip of a turning cutter down to `tip`; how deep it went into metal at most.
    pub(crate) fn press(&mut self, cutter: &Cutter, at: [Nm; 2], tip: Nm) -> Nm {
        let Some(contact) = self.contact(cutter, at) else {
            return 0;
        };
        let whole = contact - tip > DISH;
        let mut lowered = Vec::new();
        self.under_rim(cutter, at, whole, |[dx, dy], height, rise| {
            let to = tip + rise;
            if Nm::from(height) > to {
                lowered.push(([dx, dy], to));
            }
        });
        let mut deepest = 0;
        for ([dx, dy], to) in lowered {
            if let Some(height) = self.height_at([at[0] + dx, at[1] + dy]) {
                deepest = deepest.max(Nm::from(*height) - to);
                *height = i32::try_from(to).unwrap_or(i32::MIN);
            }
        }
        deepest
    }

    fn height_at(&mut self, at: [Nm; 2]) -> Option<&mut i32> {
        if !self.covers(at) {
            return None;
        }
        let column = usize::try_from((at[0] - self.corner[0]) / self.cell).ok()?;
        let row = usize::try_from((at[1] - self.corner[1]) / self.cell).ok()?;
        self.heights.get_mut(row * self.columns + column)
    }

    /// Hands over every cell under the rim (or the `whole` underside): its offset from the axis, its height, and how far
    /// the underside stands above the tip there.
    fn under_rim(
        &self,
        cutter: &Cutter,
        at: [Nm; 2],
        whole: bool,
        mut each: impl FnMut([Nm; 2], i32, Nm),
    ) {
        let flat = cutter.flat();
        // As wide as a cell's diagonal, so that the ring has no gaps.
        let inner = if whole {
            0
        } else {
            (flat - self.cell * 3 / 2).max(0)
        };
        let [columns, rows] = self.cells(at.map(|a| a - flat), at.map(|a| a + flat));
        for row in rows {
            for column in columns.clone() {
                let middle = self.middle(column, row);
                let (dx, dy) = (middle[0] - at[0], middle[1] - at[1]);
                let distance = root(dx * dx + dy * dy);
                if distance > flat || distance < inner {
                    continue;
                }
                if let Some(height) = self.heights.get(row * self.columns + column) {
                    each([dx, dy], *height, cutter.rise(dx, dy));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::{Cutter, MM};
    use super::Plate;

    fn cutter() -> Cutter {
        Cutter {
            diameter: 12 * MM,
            corner: 0,
            tilt_x: 0,
            tilt_y: 0,
            deepest: MM / 4,
        }
    }

    fn with_spot(at: [i64; 2], height: i32) -> Plate {
        let mut plate = Plate::flat([0, 0], [60 * MM, 60 * MM], MM / 2, 4 * MM);
        *plate.height_at(at).unwrap() = height;
        plate
    }

    #[test]
    fn the_rim_finds_what_is_high_under_it_and_not_what_is_under_the_axis() {
        let at = [30 * MM, 30 * MM];
        let centre = with_spot(at, 100_000);
        assert_eq!(centre.contact(&cutter(), at), Some(0));
        let rim = with_spot([30 * MM + 5_600_000, 30 * MM], 100_000);
        assert_eq!(rim.contact(&cutter(), at), Some(100_000));
        // Standing, a high place between the four spots stays unseen.
        let between = with_spot([33_900_000, 33_900_000], 100_000);
        assert_eq!(between.contact(&cutter(), at), Some(100_000));
        assert_eq!(between.contact_standing(&cutter(), at), Some(0));
        assert_eq!(rim.contact(&cutter(), [-20 * MM, 0]), None);
    }

    #[test]
    fn a_touch_leaves_a_ring_and_a_plunge_a_hole() {
        let at = [30 * MM, 30 * MM];
        let mut plate = with_spot([0, 0], 0);
        assert_eq!(plate.press(&cutter(), at, 10_000), 0);
        assert_eq!(plate.press(&cutter(), at, -10_000), 10_000);
        assert_eq!(plate.height_at(at).copied(), Some(0));
        assert_eq!(plate.contact(&cutter(), at), Some(-10_000));
        plate.press(&cutter(), at, -200_000);
        assert_eq!(plate.height_at(at).copied(), Some(-200_000));
    }
}
