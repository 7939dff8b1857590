//! Distances perpendicular to the planes, as ISO 1101 and ISO 12781 define flatness (from memory), where x, y and z
//! have one unit.
//!
//! The vertical zone times the cosine of its slope is only approximately right: other touches may determine the zone
//! once the frame is turned. So the frame is turned until the plane is level, and the zone is computed again from a
//! safe start, because weights of the old basis may be negative there. The direction is then computed exactly from the
//! touches that determine it.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)] // a fit rounds at its edge
#![allow(clippy::many_single_char_names)] // coordinates

use super::lsq::{centred, plane, slopes};
use super::wide_integers::common;
use super::zone::{FitError, HIGH, Member, Points, REACH, Site};

/// More turns than any set of touches has needed.
const MOST_TURNS: usize = 20;
/// Coordinates are within this of the first, in their common step, so that every triple product fits in 128 bits.
const WITHIN: i128 = 1 << 39;

/// Flatness perpendicular to the planes.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Square {
    /// The gap between the closest parallel planes, in counts.
    pub zone: f64,
    /// The sites on those planes; the flag is true on the top plane.
    pub holders: Vec<(usize, bool)>,
    /// Highest minus lowest distance from the plane with the least squared distances, in counts.
    pub least_squares: f64,
}

/// Flatness of `sites` perpendicular to the planes; x, y and z in one unit.
///
/// # Errors
/// Where the positions determine no plane, or are too far apart.
pub(crate) fn flatness(sites: &[Site]) -> Result<Square, FitError> {
    let (zone, basis) = zone(sites)?;
    let mut holders: Vec<(usize, bool)> = basis.iter().map(|(i, s)| (*i, *s > 0)).collect();
    // A site on both planes determines neither: it fills the place of a touch that a zone of width zero does not need.
    let both = |h: &(usize, bool)| basis.contains(&(h.0, if h.1 { -1 } else { 1 }));
    holders.retain(|h| !both(h));
    Ok(Square {
        zone,
        holders,
        least_squares: least_squares(sites)?,
    })
}

type Basis = [Member; 4];

fn zone(sites: &[Site]) -> Result<(f64, Basis), FitError> {
    let points = relative(sites)?;
    let mut basis = Points::of(sites)?.exchanged()?.0;
    let start = plane(sites)?;
    let mut level = unit([-start.right, -start.back, 1.0]);
    let mut width = f64::INFINITY;
    let mut normal = across(&points, &basis);
    if let Some(n) = normal {
        width = gap(&points, n);
        level = unit(n.map(|c| c as f64));
    }
    for _ in 0..MOST_TURNS {
        let (found, turned) = turned_zone(&points, level)?;
        normal = across(&points, &found);
        let next = normal.map_or_else(|| near_gap(&points, turned), |n| gap(&points, n));
        if next >= width {
            break;
        }
        (width, basis) = (next, found);
        level = normal.map_or(turned, |n| unit(n.map(|c| c as f64)));
    }
    Ok((width, basis))
}

/// Points relative to the first, in the step common to all three coordinates, and that step in counts.
struct Relative {
    points: Vec<[i128; 3]>,
    step: f64,
}

fn relative(sites: &[Site]) -> Result<Relative, FitError> {
    let first = sites.first().ok_or(FitError::TooFew)?;
    let from = |a: i64, b: i64| i128::from(a) - i128::from(b);
    let over = |s: &Site| [from(s.x, first.x), from(s.y, first.y), from(s.z, first.z)];
    let step = sites.iter().flat_map(over).fold(0, common).max(1);
    let points: Vec<[i128; 3]> = sites.iter().map(|s| over(s).map(|c| c / step)).collect();
    if points.iter().flatten().any(|c| c.abs() > WITHIN) {
        return Err(FitError::TooFar);
    }
    Ok(Relative {
        points,
        step: step as f64,
    })
}

/// The direction perpendicular to the planes that the basis determines: three sites on one plane, or a pair on each.
fn across(of: &Relative, basis: &Basis) -> Option<[i128; 3]> {
    let side = |sign: i128| -> Vec<[i128; 3]> {
        let there = basis.iter().filter(|(_, s)| *s == sign);
        there
            .filter_map(|(i, _)| of.points.get(*i).copied())
            .collect()
    };
    let less = |a: [i128; 3], b: [i128; 3]| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    let (top, low) = (side(1), side(-1));
    let [p, q] = match (top.as_slice(), low.as_slice()) {
        ([a, b, c], [_]) | ([_], [a, b, c]) => [less(*b, *a), less(*c, *a)],
        ([a, b], [c, d]) => [less(*b, *a), less(*d, *c)],
        _ => return None,
    };
    let n = [
        p[1] * q[2] - p[2] * q[1],
        p[2] * q[0] - p[0] * q[2],
        p[0] * q[1] - p[1] * q[0],
    ];
    let step = n.iter().fold(0, |d, c| common(d, *c));
    (step > 0).then(|| n.map(|c| c / step))
}

/// Largest distance between points along an exact direction, in counts.
fn gap(of: &Relative, n: [i128; 3]) -> f64 {
    let long = n.map(|c| c as f64);
    let long = long.iter().map(|c| c * c).sum::<f64>().sqrt();
    let bits = |c: &i128| 128 - c.unsigned_abs().leading_zeros();
    let most = of.points.iter().flatten().chain(&[1]).map(bits).max();
    if n.iter().map(bits).max().unwrap_or(0) + most.unwrap_or(0) > 123 {
        return near_gap(of, n.map(|c| c as f64 / long));
    }
    let along = |p: &[i128; 3]| n[0] * p[0] + n[1] * p[1] + n[2] * p[2];
    let (low, high) = of
        .points
        .iter()
        .map(along)
        .fold((i128::MAX, i128::MIN), |(l, h), d| (l.min(d), h.max(d)));
    (high - low) as f64 / long * of.step
}

fn near_gap(of: &Relative, n: [f64; 3]) -> f64 {
    let along = |p: &[i128; 3]| p.iter().zip(n).map(|(p, n)| *p as f64 * n).sum::<f64>();
    spread(of.points.iter().map(along)) * of.step
}

fn spread(values: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), d| {
        (l.min(d), h.max(d))
    });
    high - low
}

fn unit(n: [f64; 3]) -> [f64; 3] {
    let long = n.iter().map(|c| c * c).sum::<f64>().sqrt();
    n.map(|c| c / long)
}

/// Two unit vectors that form a frame with `n`.
fn perpendicular_pair(n: [f64; 3]) -> [[f64; 3]; 2] {
    let from = usize::from(n[0].abs() >= 0.7);
    let mut u = n.map(|c| -c * n[from]);
    u[from] += 1.0;
    let u = unit(u);
    let v = [
        n[1] * u[2] - n[2] * u[1],
        n[2] * u[0] - n[0] * u[2],
        n[0] * u[1] - n[1] * u[0],
    ];
    [u, v]
}

/// The basis of the minimum zone in the frame where `n` is up, and the direction perpendicular to it, to the precision
/// of that frame.
fn turned_zone(of: &Relative, n: [f64; 3]) -> Result<(Basis, [f64; 3]), FitError> {
    let [u, v] = perpendicular_pair(n);
    let along = |d: [f64; 3]| -> Vec<f64> {
        let sum = |p: &[i128; 3]| p.iter().zip(d).map(|(p, d)| *p as f64 * d).sum();
        of.points.iter().map(sum).collect()
    };
    let (x, y, z) = (along(u), along(v), along(n));
    let most = |c: &[f64]| c.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let fine = |most: f64, reach: i64| {
        if most > 0.0 {
            (reach / 4) as f64 / most
        } else {
            1.0
        }
    };
    let flat = fine(most(&x).max(most(&y)), REACH);
    let high = fine(most(&z), HIGH);
    let whole = |v: f64, fine: f64| (v * fine).round() as i64;
    let sites: Vec<Site> = (0..z.len())
        .map(|i| Site {
            x: whole(x[i], flat),
            y: whole(y[i], flat),
            z: whole(z[i], high),
        })
        .collect();
    let (basis, level) = Points::of(&sites)?.exchanged()?;
    let [a, b] = level.slopes().map(|s| s * flat / high);
    Ok((basis, unit([0, 1, 2].map(|k| n[k] - a * u[k] - b * v[k]))))
}

/// The range about the plane with the least squared perpendicular distances: the vertical fit, with its frame turned
/// until no turn is left.
fn least_squares(sites: &[Site]) -> Result<f64, FitError> {
    let start = plane(sites)?;
    let mut n = unit([-start.right, -start.back, 1.0]);
    let columns = centred(sites);
    let along = |d: [f64; 3]| -> Vec<f64> {
        (0..sites.len())
            .map(|i| (0..3).map(|k| columns[k][i] * d[k]).sum())
            .collect()
    };
    for _ in 0..MOST_TURNS {
        let [u, v] = perpendicular_pair(n);
        let [a, b] = slopes(&along(u), &along(v), &along(n));
        n = unit([0, 1, 2].map(|k| n[k] - a * u[k] - b * v[k]));
        if a.abs().max(b.abs()) < 1e-16 {
            break;
        }
    }
    Ok(spread(along(n).into_iter()))
}

#[cfg(test)]
mod tests;
