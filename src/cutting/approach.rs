//! The distance that a centred face mill wider than the work travels before it cuts at full width.

use super::rounding::{float, rounded};
use crate::quantity::{Dimension, Quantity, QuantityError};

/// Travel from first contact to full width, A = (D - root(D^2 - w^2)) / 2, for a cutter of `diameter` centred on work
/// of `width`. For work as wide as the cutter or wider it is half the diameter.
///
/// Source: Groover, Fundamentals of Modern Manufacturing, milling time equations (from memory); the time of a cut as
/// (L + A + O) / f in a sheet of Montana State University.
///
/// # Errors
/// [`QuantityError`] for other kinds than lengths.
pub fn approach(diameter: Quantity, width: Quantity) -> Result<Quantity, QuantityError> {
    let width = if width.compare(diameter)?.is_gt() {
        diameter
    } else {
        width
    };
    let (d, w) = (float(diameter), float(width));
    rounded(
        (d - (d * d - w * w).max(0.0).sqrt()) / 2.0,
        Dimension::LENGTH,
    )
}

#[cfg(test)]
mod tests {
    use super::approach;
    use crate::quantity::{Exact, Quantity, Unit};

    fn inches(n: i128, d: i128) -> Quantity {
        Quantity::of(Exact::fraction(n, d).unwrap(), &Unit::find("in").unwrap()).unwrap()
    }

    #[test]
    fn work_wider_than_the_cutter_needs_half_its_diameter() {
        assert_eq!(approach(inches(3, 1), inches(9, 1)), Ok(inches(3, 2)));
        assert_eq!(approach(inches(3, 1), inches(0, 1)), Ok(inches(0, 1)));
        // Groover's problem: D 3.0, w 2.0 in gives 0.382 in.
        let a = approach(inches(3, 1), inches(2, 1)).unwrap();
        let a = a.in_unit(&Unit::find("in").unwrap()).unwrap().to_f64();
        assert!((a - 0.381_97).abs() < 1e-5);
    }
}
