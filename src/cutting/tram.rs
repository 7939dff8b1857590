//! The surface that a spindle out of tram leaves: ridges between rows and a hollow along each row.
//!
//! Tilts are ratios (rise per run), relative to the plane in which the axes X and Y move. Formulas derived: the rim of
//! a tilted disc cuts an arc of an ellipse, and the finished surface is the lower envelope of such arcs one step-over
//! apart; checked by brute force over the envelope.

use super::rounding::{float, rounded};
use crate::quantity::{Dimension, Quantity, QuantityError};

/// The tilt for which an indicator, swept over `span` between its two contact points, shows `difference`.
///
/// # Errors
/// [`QuantityError`] for a span of zero or other kinds than lengths.
pub fn tilt(difference: Quantity, span: Quantity) -> Result<Quantity, QuantityError> {
    difference.over(span)
}

/// Ridge between two rows `step` apart with the spindle tilted only across them, by `across`: step x tilt. It is also
/// the largest ridge for a spindle with the same tilt in any direction.
///
/// # Errors
/// [`QuantityError`] for other kinds than a length and a ratio.
pub fn ridge(step: Quantity, across: Quantity) -> Result<Quantity, QuantityError> {
    step.times(across.abs())
}

/// Depth of the hollow along a row of engaged `width`, with the spindle tilted only along the feed, by `along`:
/// sin(tilt) (R - root(R^2 - w^2 / 4)). Its usual approximation is tilt x w^2 / (4 D).
///
/// # Errors
/// [`QuantityError`] for other kinds than lengths and a ratio.
pub fn hollow(
    width: Quantity,
    diameter: Quantity,
    along: Quantity,
) -> Result<Quantity, QuantityError> {
    width.compare(diameter)?;
    let (r, w) = (float(diameter) / 2.0, float(width).min(float(diameter)));
    let sine = float(along.abs()).atan().sin();
    rounded(
        sine * (r - (r * r - w * w / 4.0).max(0.0).sqrt()),
        Dimension::LENGTH,
    )
}

/// Ridge between rows `step` apart for a spindle tilted both `along` the feed and `across` it, with a cutter of
/// `diameter`: with t the total tilt, t (R - root(R^2 - (s t / 2 along)^2)) where across / along is no more than
/// root((D - s) / s), else across (s - R) - along root(s (D - s)) + R t. Never more than s t.
///
/// # Errors
/// [`QuantityError`] for other kinds than lengths and ratios.
#[allow(clippy::many_single_char_names)] // the letters of the formula
pub fn left_between(
    step: Quantity,
    diameter: Quantity,
    along: Quantity,
    across: Quantity,
) -> Result<Quantity, QuantityError> {
    step.compare(diameter)?;
    let (d, x, y) = (float(diameter), float(along).abs(), float(across).abs());
    let (s, r) = (float(step).min(d), d / 2.0);
    let t = x.hypot(y);
    let small = y * s.sqrt() <= x * (d - s).sqrt();
    let depth = if t == 0.0 || s == 0.0 {
        0.0
    } else if small {
        t * (r - (r * r - (s * t / (2.0 * x)).powi(2)).max(0.0).sqrt())
    } else {
        y * (s - r) - x * (s * (d - s)).sqrt() + r * t
    };
    rounded(depth, Dimension::LENGTH)
}

#[cfg(test)]
mod tests {
    use super::{hollow, left_between, ridge, tilt};
    use crate::quantity::{Dimension, Exact, Quantity};
    use proptest::prelude::*;

    fn mm(n: i128, d: i128) -> Quantity {
        Quantity {
            amount: Exact::fraction(n, d).unwrap(),
            dimension: Dimension::LENGTH,
        }
    }

    fn um(q: Quantity) -> f64 {
        q.amount.to_f64() * 1000.0
    }

    // Computed from the formulas, derived: 0.05 mm in 300 mm, D 12, s 7.2: across 1.2 um, along 0.2 um.
    #[test]
    fn a_metric_end_mill() {
        let lean = tilt(mm(5, 100), mm(300, 1)).unwrap();
        assert!((um(ridge(mm(72, 10), lean).unwrap()) - 1.2).abs() < 1e-9);
        assert!((um(hollow(mm(72, 10), mm(12, 1), lean).unwrap()) - 0.2).abs() < 1e-3);
    }

    // Derived: 50 mm cutter, 40 mm wide work, one pass, 0.02 mm in 300 mm along the feed: 0.67 um.
    #[test]
    fn a_large_cutter_leaves_a_hollow() {
        let lean = tilt(mm(2, 100), mm(300, 1)).unwrap();
        let found = um(hollow(mm(40, 1), mm(50, 1), lean).unwrap());
        assert!((found - 0.667).abs() < 1e-3, "{found}");
    }

    /// The ridge of the lower envelope of the rim's arcs, computed at many positions between two rows.
    #[allow(clippy::many_single_char_names)] // the letters of the formula
    fn envelope(s: f64, d: f64, x: f64, y: f64) -> f64 {
        let (r, rows) = (d / 2.0, 8);
        let arc = |c: f64, at: f64| {
            let off = at - c;
            (off.abs() <= r).then(|| y * off - x * (r * r - off * off).sqrt())
        };
        let (mut low, mut high) = (f64::MAX, f64::MIN);
        for i in 0..=4000 {
            let at = s * f64::from(i) / 4000.0;
            let here = (-rows..=rows).filter_map(|k| arc(f64::from(k) * s, at));
            let here = here.fold(f64::MAX, f64::min);
            (low, high) = (low.min(here), high.max(here));
        }
        high - low
    }

    proptest! {
        // The closed form against the envelope itself, to within the resolution of 4000 positions.
        #[test]
        fn the_closed_form_is_the_envelope(s in 10_i128..95, x in 0_i128..30, y in 0_i128..30) {
            let lean = |n| Quantity::ratio(Exact::fraction(n, 100_000).unwrap());
            let found = left_between(mm(s, 10), mm(10, 1), lean(x), lean(y)).unwrap();
            let [s, x, y] = [s, x, y].map(|n| f64::from(i32::try_from(n).unwrap()));
            let looked = envelope(s / 10.0, 10.0, x / 1e5, y / 1e5);
            let bound = s / 10.0 * (x / 1e5).hypot(y / 1e5);
            prop_assert!((found.amount.to_f64() - looked).abs() <= 1e-2 * bound + 1e-12, "{found:?} {looked}");
            prop_assert!(found.amount.to_f64() <= bound * (1.0 + 1e-9) + 1e-15);
        }
    }
}
