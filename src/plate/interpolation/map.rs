//! The map: which part of the plate a plane cleans up, cell by cell.

use super::touched_plate::{TouchedPlate, TouchedPlateError, length};
use crate::quantity::Length;

/// What becomes of a place.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Class {
    /// At least three times the scatter above the plane, and near a touch.
    Cleans,
    /// At least once, and no more is known.
    Likely,
    /// Within once the scatter of the plane, or no scatter known.
    NotKnown,
    /// More than once the scatter below the plane: old skin stays.
    Stays,
}

impl Class {
    /// All of them, best first.
    pub const ALL: [Self; 4] = [Self::Cleans, Self::Likely, Self::NotKnown, Self::Stays];

    /// By the scatter alone; [`super::judge`] says how near a touch it must be.
    pub(super) fn of(depth: f64, s: f64) -> Self {
        match depth {
            d if d < -s => Self::Stays,
            d if d < s || d <= 0.0 => Self::NotKnown,
            d if d < 3.0 * s => Self::Likely,
            _ => Self::Cleans,
        }
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Cleans => "cleans",
            Self::Likely => "likely",
            Self::NotKnown => "not known",
            Self::Stays => "stays",
        }
    }
}

/// One cell.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cell {
    /// What becomes of it.
    pub class: Class,
    /// Expected height minus plane.
    pub depth: Length,
}

/// Cells over a plate, row by row from the front, each row from the left.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Map {
    /// Cells in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// One for each part of the plate that the map is divided into.
    pub cells: Vec<Cell>,
}

/// The middles of `count` equal parts.
#[allow(clippy::cast_precision_loss)]
fn middles(low: f64, whole: f64, count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| low + whole * (i as f64 + 0.5) / count as f64)
        .collect()
}

impl TouchedPlate {
    /// What `plane` does to the plate, in so many cells.
    ///
    /// # Errors
    /// As for the land itself.
    pub fn map(
        &self,
        plane: Length,
        columns: usize,
        rows: usize,
    ) -> Result<Map, TouchedPlateError> {
        let size = self.size();
        let xs = middles(self.low[0].mm(), size[0], columns);
        let ys = middles(self.low[1].mm(), size[1], rows);
        let (judge, plane) = (self.judge(), plane.mm());
        let cell = |(z, d): (f64, f64)| {
            let depth = z - plane;
            Ok(Cell {
                class: judge.map_or(Class::NotKnown, |j| j.class(depth, d)),
                depth: length(depth)?,
            })
        };
        let cells = self
            .seen(&xs, &ys)?
            .into_iter()
            .map(cell)
            .collect::<Result<_, TouchedPlateError>>()?;
        Ok(Map {
            columns,
            rows,
            cells,
        })
    }
}
