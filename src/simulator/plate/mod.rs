//! The virtual plate: a height for every cell, hidden from the learner; touched, cut, gouged.
//!
//! Heights count in nanometres from the plate's nominal top, plus is up. X and Y are true positions in the machine, so a
//! wrong offset or a lost home puts the cutter where it really would be.

pub(crate) mod relief;
pub(crate) mod sweep;
pub(crate) mod touch;

pub use relief::Level;

use super::{MM, Nm};

/// A round thing in or beside the plate.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Round {
    /// Where its middle is.
    pub at: [Nm; 2],
    /// Its radius.
    pub radius: Nm,
    /// Its top, above the plate's nominal top.
    pub top: Nm,
}

/// A plate on the bed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Plate {
    /// The corner with the smallest X and Y.
    pub corner: [Nm; 2],
    /// Its length along X and width along Y.
    pub size: [Nm; 2],
    /// The side of a cell.
    pub cell: Nm,
    /// Cells along X.
    pub columns: usize,
    /// Cells along Y.
    pub rows: usize,
    /// Heights as found, row by row from the smallest Y.
    pub found: Vec<i32>,
    /// Heights now.
    pub heights: Vec<i32>,
    /// Screw heads in it.
    pub steel: Vec<Round>,
    /// Clamps and studs beside it.
    pub clamps: Vec<Round>,
    /// No metal of the plate stands above this.
    ceiling: Nm,
}

/// How large a cell is.
pub(crate) const CELL: Nm = MM / 2;

/// Cut less than this and a place still wears its old skin: a hundredth of a thousandth of an inch is no cut.
pub(crate) const SKIN: i32 = 254;

impl Plate {
    /// A plate that is flat at its nominal top, all steel sunk by `steel`.
    pub(crate) fn flat(corner: [Nm; 2], size: [Nm; 2], cell: Nm, steel: Nm) -> Self {
        let count = |length: Nm| usize::try_from((length / cell.max(1)).max(1)).unwrap_or(1);
        let [columns, rows] = size.map(count);
        let heights = vec![0; columns * rows];
        Self {
            corner,
            size,
            cell,
            columns,
            rows,
            found: heights.clone(),
            heights,
            steel: screws(corner, size, steel),
            clamps: vec![Round {
                at: [corner[0] + size[0] + 25 * MM, corner[1] + size[1] / 2],
                radius: 5 * MM,
                top: 18 * MM,
            }],
            ceiling: 0,
        }
    }

    /// The middle of a cell.
    pub(crate) fn middle(&self, column: usize, row: usize) -> [Nm; 2] {
        let along = |n: usize| Nm::try_from(n).unwrap_or(0) * self.cell + self.cell / 2;
        [self.corner[0] + along(column), self.corner[1] + along(row)]
    }

    /// The cells whose middles lie within `reach` of the box from `low` to `high`: columns and rows, ends excluded.
    fn cells(&self, low: [Nm; 2], high: [Nm; 2]) -> [std::ops::Range<usize>; 2] {
        let range = |axis: usize, count: usize| {
            let cell = |at: Nm| (at - self.corner[axis]).div_euclid(self.cell);
            let from = usize::try_from(cell(low[axis]).max(0)).unwrap_or(0);
            let to = usize::try_from((cell(high[axis]) + 1).max(0)).unwrap_or(0);
            from.min(count)..to.min(count)
        };
        [range(0, self.columns), range(1, self.rows)]
    }

    /// Whether a place is over the plate.
    pub(crate) fn covers(&self, at: [Nm; 2]) -> bool {
        (0..2).all(|i| at[i] >= self.corner[i] && at[i] < self.corner[i] + self.size[i])
    }

    /// The height of the metal at a place; the nominal top beside the plate.
    pub(crate) fn over(&self, at: [Nm; 2]) -> Nm {
        let cell = |i: usize| usize::try_from((at[i] - self.corner[i]) / self.cell).unwrap_or(0);
        let index = cell(1) * self.columns + cell(0);
        let height = self.heights.get(index).filter(|_| self.covers(at));
        height.copied().map_or(0, Nm::from)
    }

    /// How many cells were cut since the plate was found, in thousandths of all.
    pub(crate) fn cleaned(&self) -> u64 {
        let cut = self
            .found
            .iter()
            .zip(&self.heights)
            .filter(|(found, now)| *found - *now >= SKIN)
            .count();
        let all = self.found.len().max(1);
        u64::try_from(cut * 1000 / all).unwrap_or(0)
    }

    /// Whether no skin is left: every cell cut.
    pub fn is_clean(&self) -> bool {
        let mut cells = self.found.iter().zip(&self.heights);
        cells.all(|(found, now)| *found - *now >= SKIN)
    }

    /// Lowest and highest height now.
    pub(crate) fn extremes(&self) -> (Nm, Nm) {
        let low = self.heights.iter().min().copied().unwrap_or(0);
        let high = self.heights.iter().max().copied().unwrap_or(0);
        (Nm::from(low), Nm::from(high))
    }

    /// Lowest and highest height as found.
    pub(crate) fn found_extremes(&self) -> (Nm, Nm) {
        let low = self.found.iter().min().copied().unwrap_or(0);
        let high = self.found.iter().max().copied().unwrap_or(0);
        (Nm::from(low), Nm::from(high))
    }

    /// The digest of all heights: two plates with one digest are the same plate.
    #[cfg(test)]
    pub(crate) fn digest(&self) -> crate::fingerprint::Fingerprint {
        let bytes: Vec<u8> = self.heights.iter().flat_map(|h| h.to_le_bytes()).collect();
        crate::fingerprint::Fingerprint::of(bytes)
    }
}

/// Six screws, two rows of three, sunk by `steel`.
fn screws(corner: [Nm; 2], size: [Nm; 2], steel: Nm) -> Vec<Round> {
    let mut screws = Vec::new();
    for x in [1, 3, 5] {
        for y in [1, 3] {
            screws.push(Round {
                at: [corner[0] + size[0] * x / 6, corner[1] + size[1] * y / 4],
                radius: 5 * MM,
                top: -steel,
            });
        }
    }
    screws
}
