//! The map: the part of the plate that a plane cleans up, cell by cell.

use super::touched_plate::{TouchedPlate, TouchedPlateError, length};
use crate::quantity::Length;

/// What happens at a position.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Class {
    /// It is at least three times the scatter above the plane, and near a touch.
    Cleans,
    /// It is at least once the scatter above the plane, and nothing more is known.
    Likely,
    /// It is within once the scatter of the plane, or no scatter is known.
    NotKnown,
    /// It is more than once the scatter below the plane: the old surface remains.
    Stays,
}

impl Class {
    /// All classes, the best first.
    pub(crate) const ALL: [Self; 4] = [Self::Cleans, Self::Likely, Self::NotKnown, Self::Stays];

    /// The class by the scatter alone; [`super::judge`] also limits the distance to a touch.
    pub(super) fn of(depth: f64, s: f64) -> Self {
        match depth {
            d if d < -s => Self::Stays,
            d if d < s || d <= 0.0 => Self::NotKnown,
            d if d < 3.0 * s => Self::Likely,
            _ => Self::Cleans,
        }
    }

    /// The class in words.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Cleans => "cleans",
            Self::Likely => "likely",
            Self::NotKnown => "not known",
            Self::Stays => "stays",
        }
    }
}

/// One cell of the map.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cell {
    /// The class of the cell.
    pub class: Class,
    /// Expected height minus plane.
    pub depth: Length,
}

/// Cells over a plate, row by row from the front, each row from the left.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Map {
    /// Number of cells in a row.
    pub columns: usize,
    /// Number of rows.
    pub rows: usize,
    /// One cell for each part into which the map divides the plate.
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
    /// The effect of `plane` on the plate, in this number of cells.
    ///
    /// # Errors
    /// Those of [`TouchedPlate::of`].
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
