//! The effect of heat on a plate: growth, and bow from one warm side.

use crate::quantity::{Exact, Quantity, QuantityError};

/// Thermal expansion of the materials of plates, in millionths of the length for each degree Celsius; `None` for a
/// material without a figure that has a source.
///
/// Source: Callister, Materials Science and Engineering, Table B.6: 6061 23.6, grey iron 11.4, 1020 steel 11.7,
/// free-cutting brass 20.5. NIST's Engineering Metrology Toolbox warns that such tables rarely state their uncertainty.
pub fn expansion(material: &str) -> Option<Quantity> {
    let tenths = match material {
        "aluminium" => 236,
        "cast iron" => 114,
        "steel" => 117,
        "brass" => 205,
        _ => return None,
    };
    Exact::fraction(tenths, 10_000_000).map(Quantity::ratio)
}

/// Growth of `length` when warmed by this number of degrees Celsius: expansion x length x degrees.
///
/// # Errors
/// [`QuantityError::TooLarge`].
pub fn growth(
    expansion: Quantity,
    length: Quantity,
    degrees: Quantity,
) -> Result<Quantity, QuantityError> {
    expansion.times(length)?.times(degrees)
}

/// Bow over `length` of a free plate of thickness `thick` with one side warmer by this number of degrees Celsius:
/// expansion x degrees x length^2 / (8 thickness). A plate that is faced while bowed up becomes hollow by the same
/// amount.
///
/// Source: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, thermal bending (from memory).
///
/// # Errors
/// [`QuantityError`] for a thickness of zero.
pub fn bow(
    expansion: Quantity,
    length: Quantity,
    thick: Quantity,
    degrees: Quantity,
) -> Result<Quantity, QuantityError> {
    let bend = expansion.times(degrees)?.times(length)?;
    bend.times(length.over(thick)?)?.over(Quantity::whole(8))
}

#[cfg(test)]
mod tests {
    use super::{bow, expansion, growth};
    use crate::quantity::{Dimension, Exact, Quantity, Unit};

    fn of(n: i128, d: i128, unit: &str) -> Quantity {
        Quantity::of(Exact::fraction(n, d).unwrap(), &Unit::find(unit).unwrap()).unwrap()
    }

    // Computed from the formulas with Callister's figure: 12 in by 10 deg F 0.00157 in; 12 in, 1 in thick, 2 deg F: 0.00047.
    #[test]
    fn inches_and_fahrenheit() {
        let a = expansion("aluminium").unwrap();
        let inch = Unit::find("in").unwrap();
        let degrees = |f: i128| Quantity::ratio(Exact::fraction(f * 5, 9).unwrap());
        let long = growth(a, of(12, 1, "in"), degrees(10)).unwrap();
        assert!((long.in_unit(&inch).unwrap().to_f64() - 0.00157).abs() < 1e-5);
        let up = bow(a, of(12, 1, "in"), of(1, 1, "in"), degrees(2)).unwrap();
        assert!((up.in_unit(&inch).unwrap().to_f64() - 0.00047).abs() < 1e-5);
        assert_eq!(up.dimension, Dimension::LENGTH);
        assert_eq!(expansion("wood-based"), None);
    }
}
