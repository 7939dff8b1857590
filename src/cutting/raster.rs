//! Length and time of a raster: rows along one side of the plate, with steps along the other.

use crate::quantity::{Dimension, Exact, Quantity, QuantityError};

/// A raster over a plate.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Raster {
    /// Number of rows.
    pub rows: i64,
    /// Distance between rows after even spacing; zero for a single row.
    pub step: Quantity,
    /// Length of the tool path from the start of the first row to the end of the last, as a zigzag.
    pub path: Quantity,
}

/// Most rows; a larger number is a slip, not a plan.
const MOST_ROWS: i128 = 100_000;

/// The raster of a plate of length `long` along the rows and width `wide` across them, with a cutter of `diameter`,
/// rows at most `step_over` apart, and the rim going `beyond` past every edge.
///
/// Source: derived geometry; span = W - D + 2e, rows = 1 + ceil(span / s), row length = L + D + 2c with e = c =
/// `beyond`.
///
/// # Errors
/// [`QuantityError`] for a step-over of zero or less, other kinds than lengths, or too many rows.
pub fn raster(
    long: Quantity,
    wide: Quantity,
    diameter: Quantity,
    step_over: Quantity,
    beyond: Quantity,
) -> Result<Raster, QuantityError> {
    raster_ends(long, wide, diameter, step_over, beyond, beyond)
}

fn raster_ends(
    long: Quantity,
    wide: Quantity,
    diameter: Quantity,
    step_over: Quantity,
    side: Quantity,
    end: Quantity,
) -> Result<Raster, QuantityError> {
    if step_over.amount <= Exact::ZERO {
        return Err(QuantityError::DividedByNought);
    }
    let two = Quantity::whole(2);
    let span = wide.minus(diameter)?.plus(two.times(side)?)?;
    let row = long.plus(diameter)?.plus(two.times(end)?)?;
    let zero = Quantity {
        amount: Exact::ZERO,
        dimension: Dimension::LENGTH,
    };
    if span.amount <= Exact::ZERO {
        return Ok(Raster {
            rows: 1,
            step: zero,
            path: row,
        });
    }
    let gaps = span.over(step_over)?.amount.ceil();
    let gaps = i64::try_from(gaps)
        .ok()
        .filter(|g| i128::from(*g) < MOST_ROWS)
        .ok_or(QuantityError::TooLarge)?;
    let rows = gaps + 1;
    let path = row.times(Quantity::whole(rows))?.plus(span)?;
    Ok(Raster {
        rows,
        step: span.over(Quantity::whole(gaps))?,
        path,
    })
}

#[cfg(test)]
mod tests {
    use super::{raster, raster_ends};
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::{Quantity, Unit};

    fn q(text: &str) -> Quantity {
        quantity(text, &Unit::find("mm").unwrap(), DecimalMark::Point)
            .unwrap()
            .quantity
    }

    fn inches(found: Quantity) -> f64 {
        found.in_unit(&Unit::find("in").unwrap()).unwrap().to_f64()
    }

    // Derived, checked by brute force: W 8, L 12, D .5, s .30, e .1, c .1: 27 rows, 0.29615, 350.60 in, 8.765 min at
    // 40.
    #[test]
    fn an_inch_raster() {
        let r = raster(q("12 in"), q("8 in"), q("0.5 in"), q("0.3 in"), q("0.1 in")).unwrap();
        assert_eq!(r.rows, 27);
        assert!((inches(r.step) - 0.29615).abs() < 1e-5);
        assert!((inches(r.path) - 350.60).abs() < 1e-3);
        assert!((inches(r.path) / 40.0 - 8.765).abs() < 1e-3);
    }

    // Derived: W 200, L 300, D 12, s 7.2, e 2, c 3: 28 rows, 7.111, 9096 mm.
    #[test]
    fn a_metric_raster() {
        let [long, wide, d, s] = ["300", "200", "12", "7.2"].map(q);
        let r = raster_ends(long, wide, d, s, q("2"), q("3")).unwrap();
        assert_eq!((r.rows, r.path), (28, q("9096")));
    }

    // Derived: an exact multiple does not add a row: W 8, D .5, e 0, s .375: 21, not 22.
    #[test]
    fn an_exact_multiple_adds_no_row() {
        let r = raster(q("12 in"), q("8 in"), q("0.5 in"), q("0.375 in"), q("0")).unwrap();
        assert_eq!(r.rows, 21);
    }

    #[test]
    fn impossible_input_is_refused() {
        assert!(raster(q("1"), q("100"), q("1"), q("0"), q("0")).is_err());
        assert!(raster(q("1"), q("90 m"), q("1"), q("1 nm"), q("0")).is_err());
        assert_eq!(
            raster(q("9"), q("1"), q("5"), q("1"), q("0")).unwrap().rows,
            1
        );
    }
}
