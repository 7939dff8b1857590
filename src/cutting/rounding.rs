//! The limit of exact arithmetic: a root or an arc is computed in floating point and rounded to fifteen digits.

use crate::quantity::{Dimension, Exact, Quantity, QuantityError};

/// Pi to fifteen decimals (relative error below 1e-15).
pub(crate) fn pi() -> Quantity {
    Quantity::ratio(Exact::known(3_141_592_653_589_793, 1_000_000_000_000_000))
}

/// The amount in base units as a floating-point number.
pub(crate) fn float(q: Quantity) -> f64 {
    q.amount.to_f64()
}

/// `value` base units of `dimension`, rounded to fifteen significant digits.
///
/// # Errors
/// [`QuantityError::TooLarge`] for NaN, or above 1e18 base units.
#[allow(clippy::cast_possible_truncation)] // bounded just before
pub(crate) fn rounded(value: f64, dimension: Dimension) -> Result<Quantity, QuantityError> {
    if !value.is_finite() || value.abs() > 1e18 {
        return Err(QuantityError::TooLarge);
    }
    let whole = value.abs().log10().floor();
    // Between -16 and 18 for the remaining range, and clamped above.
    let digits = if value == 0.0 {
        0
    } else {
        (14 - whole as i32).clamp(0, 30)
    };
    let scale = 10_i128.pow(digits.unsigned_abs());
    let scaled = (value * 10_f64.powi(digits)).round() as i128;
    let amount = Exact::fraction(scaled, scale).ok_or(QuantityError::TooLarge)?;
    Ok(Quantity { amount, dimension })
}

/// The square root of a ratio; zero for a ratio that only rounding made negative.
pub(crate) fn root(q: Quantity) -> f64 {
    float(q).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::rounded;
    use crate::quantity::{Dimension, Exact};

    #[test]
    fn values_in_range_have_fifteen_digits_and_others_are_refused() {
        let of = |v| rounded(v, Dimension::LENGTH).map(|q| q.amount);
        assert_eq!(of(0.25), Ok(Exact::fraction(1, 4).unwrap()));
        assert_eq!(of(0.0), Ok(Exact::ZERO));
        assert_eq!(of(-3e-40), Ok(Exact::ZERO));
        let third = of(1.0 / 3.0).unwrap().to_f64();
        assert!((third - 1.0 / 3.0).abs() < 1e-15);
        for none in [f64::NAN, f64::INFINITY, -1e19] {
            assert!(of(none).is_err());
        }
    }
}
