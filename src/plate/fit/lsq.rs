//! The least-squares plane of touched positions.
//!
//! Sums are centred exactly, in integers, and the two directions are made orthogonal before the slopes are computed:
//! plain normal equations lose half the digits where positions are far from zero or along a line. The results are
//! floating point; the caller that stores them rounds once.
#![allow(clippy::cast_precision_loss)] // counts far below 2^53 once centred; a fit rounds at its edge

use super::zone::{FitError, Points, Site};

/// A plane z = level + right x + back y, with x, y and z counted from the first site, and the residuals of the sites.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct LeastSquares {
    /// Height at the first site, in counts.
    pub level: f64,
    /// Rise per count to the right.
    pub right: f64,
    /// Rise per count away from the front.
    pub back: f64,
    /// Highest residual minus lowest, along z, in counts.
    pub range: f64,
    /// Root of the mean squared residual, in counts.
    pub rms: f64,
    /// Sum of the squared residuals, in counts squared.
    pub squares: f64,
}

/// Fits the plane. Source: least squares, elementary statistics (from memory).
///
/// # Errors
/// Where the positions determine no plane, or are too far apart.
pub(crate) fn plane(sites: &[Site]) -> Result<LeastSquares, FitError> {
    Points::of(sites)?.start()?;
    let [x, y, z] = centred(sites);
    let flat = slopes(&x, &y, &z);
    let residuals = (0..z.len()).map(|i| z[i] - flat[0] * x[i] - flat[1] * y[i]);
    let (mut low, mut high, mut squares) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
    for r in residuals {
        low = low.min(r);
        high = high.max(r);
        squares += r * r;
    }
    let first = |c: &[f64]| c.first().copied().unwrap_or_default();
    Ok(LeastSquares {
        level: flat[0] * first(&x) + flat[1] * first(&y) - first(&z),
        right: flat[0],
        back: flat[1],
        range: high - low,
        rms: (squares / z.len() as f64).sqrt(),
        squares,
    })
}

/// Columns minus their means; n times each difference is exact before its only rounding.
pub(super) fn centred(sites: &[Site]) -> [Vec<f64>; 3] {
    let n = i128::try_from(sites.len()).unwrap_or(1).max(1);
    let column = |of: fn(&Site) -> i64| {
        let sum: i128 = sites.iter().map(|s| i128::from(of(s))).sum();
        let from = |s: &Site| (i128::from(of(s)) * n - sum) as f64 / n as f64;
        sites.iter().map(from).collect()
    };
    [column(|s| s.x), column(|s| s.y), column(|s| s.z)]
}

/// The slopes along two centred columns; zero along a column that does not vary.
pub(super) fn slopes(x: &[f64], y: &[f64], z: &[f64]) -> [f64; 2] {
    let over = |a: f64, b: f64| if b > 0.0 { a / b } else { 0.0 };
    // The wider column goes first, so that little precision is lost in making the other orthogonal to it.
    let (first, second, turned) = if dot(x, x) >= dot(y, y) {
        (x, y, false)
    } else {
        (y, x, true)
    };
    let along = over(dot(first, second), dot(first, first));
    let rest: Vec<f64> = second
        .iter()
        .zip(first)
        .map(|(s, f)| s - along * f)
        .collect();
    let lean = over(dot(&rest, z), dot(&rest, &rest));
    let left: Vec<f64> = z.iter().zip(&rest).map(|(z, r)| z - lean * r).collect();
    let other = over(dot(first, &left), dot(first, first)) - along * lean;
    if turned { [lean, other] } else { [other, lean] }
}

/// A sum of products that carries the rounding error of each step (Neumaier's summation, from memory).
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (mut sum, mut lost) = (0.0_f64, 0.0_f64);
    for (a, b) in a.iter().zip(b) {
        let term = a * b;
        lost += a.mul_add(*b, -term);
        let next = sum + term;
        lost += if sum.abs() >= term.abs() {
            (sum - next) + term
        } else {
            (term - next) + sum
        };
        sum = next;
    }
    sum + lost
}

#[cfg(test)]
mod tests;
