//! The minimum zone of touched positions, measured along z: the smallest distance between two parallel planes that
//! contain them all.
//!
//! Exact: a one-point exchange (the simplex method on the dual of the Chebyshev plane problem) over integers, so ties
//! and rounding cannot mislead it. The answer carries its proof, see [`Zone::holders`]. Why not a search over the faces
//! of the hull: it doubles the answer on a twisted plate with four corners. The distance perpendicular to the planes is
//! smaller by about half the slope squared: see [`super::square`].
//!
//! Positions and heights are first divided by their largest common step, so that lengths on the grid of a tenth of a
//! nanometre suffice for any plate: 6.8 m even where there is no coarser common step.

#![allow(clippy::many_single_char_names)] // coordinates

use super::point_columns::{Plane, PointColumns};
use super::wide_integers;
use crate::quantity::Exact;
use thiserror::Error;

/// Positions are within this of the first, in their common step: 6.8 m at a tenth of a nanometre. With [`HIGH`], every
/// determinant, which sums 24 products of two positions and a height, is below 2^120.
pub(super) const REACH: i64 = 1 << 36;
/// Heights are within this of the first, in their common step: the whole range of a length.
pub(super) const HIGH: i64 = 1 << 41;
/// Number of steps without gain after which the lowest index enters and leaves, which cannot cycle.
const PATIENCE: usize = 8;
/// Far more steps than any set has needed, so that the loop always ends.
const MOST_STEPS: usize = 100_000;

/// A touched position with its height, in whole counts; x and y have one unit, z may have another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Site {
    /// Distance to the right.
    pub x: i64,
    /// Distance away from the front.
    pub y: i64,
    /// Height, up.
    pub z: i64,
}

/// Why no plane fits.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum FitError {
    /// There are fewer than three positions.
    #[error(
        "one or two places do not determine a plane; touch at least three places, not on one line"
    )]
    TooFew,
    /// All positions are on one line.
    #[error("the touched places are on one line; touch one to the side of it")]
    OnOneLine,
    /// The positions are too far apart.
    #[error(
        "the places are more than 68 719 476 736 of their common steps apart (6.8 m at a tenth of a nanometre), or the heights more than 200 m; give rounder figures"
    )]
    TooFar,
    /// The computation did not end.
    #[error("the computation found no result; check places and heights")]
    NoEnd,
}

/// A position that determines the zone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DecidingPoint {
    /// Index of the site.
    pub site: usize,
    /// Whether it is on the top plane; otherwise it is on the bottom one.
    pub top: bool,
    /// Its weight; the weights add up to one.
    pub weight: Exact,
}

/// The minimum zone.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Zone {
    /// The gap between the planes along z, in counts of z.
    pub width: Exact,
    /// c, a, b of the middle plane c + a x + b y, with x, y and z counted from the first site.
    pub middle: [Exact; 3],
    /// At most four positions. With s = +1 on top and -1 below, and weights w: sum w = 1, sum s w = sum s w x = sum s w
    /// y = 0 and sum s w z = half the width, which proves that no narrower zone exists.
    pub holders: Vec<DecidingPoint>,
}

/// A site in the basis, with +1 for the top plane and -1 for the bottom one.
pub(super) type Member = (usize, i128);
type Rows = [[i128; 4]; 4];

/// Finds the minimum zone of `sites`.
///
/// Three positions always give a width of zero, which is no information about the plate.
///
/// # Errors
/// Where no plane is determined, or counts are too far apart.
pub fn minimum(sites: &[Site]) -> Result<Zone, FitError> {
    let points = Points::of(sites)?;
    let (basis, level) = points.exchanged()?;
    points.certified(&basis, &level)
}

/// Sites counted from the first in their common steps, both exactly and as floating-point numbers.
pub(super) struct Points {
    exact: Vec<[i64; 3]>,
    near: PointColumns,
    /// The common steps of positions and of heights, in counts.
    steps: [i128; 2],
}

impl Points {
    pub(super) fn of(sites: &[Site]) -> Result<Self, FitError> {
        let first = sites.first().ok_or(FitError::TooFew)?;
        let from = |a: i64, b: i64| i128::from(a) - i128::from(b);
        let over = |s: &Site| [from(s.x, first.x), from(s.y, first.y), from(s.z, first.z)];
        let (mut flat, mut high) = (0, 0);
        for [x, y, z] in sites.iter().map(over) {
            flat = wide_integers::common(wide_integers::common(flat, x), y);
            high = wide_integers::common(high, z);
        }
        let (flat, high) = (flat.max(1), high.max(1));
        // Most sets have no common step, and then nothing is divided.
        let part = |v: i128, step: i128, reach: i64| {
            let steps = if step == 1 { v } else { v / step };
            let steps = i64::try_from(steps).ok();
            steps.filter(|v| v.abs() <= reach).ok_or(FitError::TooFar)
        };
        let part = |[x, y, z]: [i128; 3]| {
            Ok([
                part(x, flat, REACH)?,
                part(y, flat, REACH)?,
                part(z, high, HIGH)?,
            ])
        };
        let exact: Vec<[i64; 3]> = sites.iter().map(over).map(part).collect::<Result<_, _>>()?;
        Ok(Self {
            near: PointColumns::of(&exact),
            exact,
            steps: [flat, high],
        })
    }

    /// A basis to start from, or why no plane is determined.
    pub(super) fn start(&self) -> Result<[Member; 4], FitError> {
        start(&self.exact)
    }

    /// The basis of the minimum zone, and its planes.
    pub(super) fn exchanged(&self) -> Result<([Member; 4], MiddlePlane), FitError> {
        let points = &self.exact;
        let mut basis = start(points)?;
        let mut stalled = 0;
        for _ in 0..MOST_STEPS {
            let level = MiddlePlane::through(points, &basis).ok_or(FitError::NoEnd)?;
            let Some(entering) = level.worst(self, stalled >= PATIENCE) else {
                return Ok((basis, level));
            };
            let (slot, gained) = leaving(points, &basis, entering).ok_or(FitError::NoEnd)?;
            if let Some(member) = basis.get_mut(slot) {
                *member = entering;
            }
            stalled = if gained { 0 } else { stalled + 1 };
        }
        Err(FitError::NoEnd)
    }

    /// The answer in the counts of the sites, with the weights that prove it.
    fn certified(&self, basis: &[Member; 4], level: &MiddlePlane) -> Result<Zone, FitError> {
        let rows = columns(&self.exact, basis).ok_or(FitError::NoEnd)?;
        let sign = det(&rows).signum();
        let mut holders = Vec::new();
        for ((site, s), weight) in basis.iter().zip(solved(&rows, [0, 0, 0, 1])) {
            if weight != 0 {
                let weight = Exact::fraction(weight * sign, level.over).ok_or(FitError::TooFar)?;
                holders.push(DecidingPoint {
                    site: *site,
                    top: *s > 0,
                    weight,
                });
            }
        }
        let [flat, high] = self.steps;
        let scaled = |n: i128, over: i128| {
            let value = Exact::fraction(n, level.over)?;
            value.times(Exact::fraction(high, over)?)
        };
        let width = scaled(2 * level.half, 1).ok_or(FitError::TooFar)?;
        let [c, a, b] = level.plane;
        let (Some(c), Some(a), Some(b)) = (scaled(c, 1), scaled(a, flat), scaled(b, flat)) else {
            return Err(FitError::TooFar);
        };
        let middle = [c, a, b];
        Ok(Zone {
            width,
            middle,
            holders,
        })
    }
}

/// The first point on both planes, the farthest, and the one that forms the largest triangle: no weight is below zero.
fn start(points: &[[i64; 3]]) -> Result<[Member; 4], FitError> {
    let product = |a: i64, b: i64| i128::from(a) * i128::from(b);
    let far = |[x, y, _]: &[i64; 3]| product(*x, *x) + product(*y, *y);
    let (second, away) = points
        .iter()
        .enumerate()
        .max_by_key(|(_, p)| far(p))
        .ok_or(FitError::TooFew)?;
    if far(away) == 0 {
        return Err(FitError::TooFew);
    }
    let area = |[x, y, _]: &[i64; 3]| (product(away[0], *y) - product(away[1], *x)).abs();
    let (third, wide) = points
        .iter()
        .enumerate()
        .max_by_key(|(_, p)| area(p))
        .ok_or(FitError::TooFew)?;
    if area(wide) == 0 {
        let two = points
            .iter()
            .all(|p| far(p) == 0 || (p[0], p[1]) == (away[0], away[1]));
        return Err(if two {
            FitError::TooFew
        } else {
            FitError::OnOneLine
        });
    }
    Ok([(0, 1), (0, -1), (second, 1), (third, 1)])
}

/// A determinant, from the minors of its first and last two rows.
fn det([a, b, c, d]: &Rows) -> i128 {
    let top = |i: usize, j: usize| a[i] * b[j] - a[j] * b[i];
    let low = |i: usize, j: usize| c[i] * d[j] - c[j] * d[i];
    top(0, 1) * low(2, 3) - top(0, 2) * low(1, 3) + top(0, 3) * low(1, 2) + top(1, 2) * low(0, 3)
        - top(1, 3) * low(0, 2)
        + top(2, 3) * low(0, 1)
}

/// Cramer's rule, with rows in place of columns: the four numerators over the [`det`] of `rows`.
fn solved(columns: &Rows, right: [i128; 4]) -> [i128; 4] {
    [0, 1, 2, 3].map(|k: usize| {
        let mut changed = *columns;
        changed[k] = right;
        det(&changed)
    })
}

fn column(points: &[[i64; 3]], (site, s): Member) -> Option<[i128; 4]> {
    let [x, y, _] = points.get(site)?.map(i128::from);
    Some([s, s * x, s * y, 1])
}

fn columns(points: &[[i64; 3]], basis: &[Member; 4]) -> Option<Rows> {
    let [a, b, c, d] = basis.map(|m| column(points, m));
    Some([a?, b?, c?, d?])
}

/// The middle plane c + a x + b y and half the gap, with one positive denominator.
pub(super) struct MiddlePlane {
    over: i128,
    plane: [i128; 3],
    half: i128,
}

impl MiddlePlane {
    fn through(points: &[[i64; 3]], basis: &[Member; 4]) -> Option<Self> {
        let rows = columns(points, basis)?;
        let turned = [0, 1, 2, 3].map(|i: usize| rows.map(|r| r[i]));
        let mut right = [0; 4];
        for (value, (site, s)) in right.iter_mut().zip(basis) {
            *value = s * i128::from(points.get(*site)?[2]);
        }
        let (over, [c, a, b, half]) = (det(&rows), solved(&turned, right));
        let sign = over.signum();
        (sign != 0).then(|| Self {
            over: over * sign,
            plane: [c * sign, a * sign, b * sign],
            half: half * sign,
        })
    }

    /// Rise of the middle plane along x and y, in common steps.
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn slopes(&self) -> [f64; 2] {
        let [_, a, b] = self.plane.map(|n| n as f64 / self.over as f64);
        [a, b]
    }

    /// How far a point is outside the zone, if it is, and on which side.
    fn outside(&self, point: &[i64; 3]) -> Option<(i128, i128)> {
        let [x, y, z] = point.map(i128::from);
        let [c, a, b] = self.plane;
        let off = z * self.over - c - a * x - b * y;
        (off.abs() > self.half).then_some((off.abs(), off.signum()))
    }

    /// The reading furthest outside, or the first one outside; `None` when every reading is within the zone.
    fn worst(&self, points: &Points, first: bool) -> Option<Member> {
        if first {
            let mut all = points.exact.iter().enumerate();
            return all.find_map(|(i, p)| self.outside(p).map(|(_, side)| (i, side)));
        }
        // Floating point proposes, and excludes the readings that are certainly within; integers decide the rest.
        let plane = self.near(points);
        let (index, most) = points.near.farthest(&plane);
        let found = points.exact.get(index).and_then(|p| self.outside(p));
        if let Some((_, side)) = found {
            return Some((index, side));
        }
        if most < plane.surely {
            return None;
        }
        let close = points.near.beyond(&plane);
        let outside = close.into_iter().filter_map(|i| {
            let (off, side) = self.outside(points.exact.get(i)?)?;
            Some((off, (i, side)))
        });
        outside.max_by_key(|o| o.0).map(|o| o.1)
    }

    #[allow(clippy::cast_precision_loss)]
    fn near(&self, points: &Points) -> Plane {
        let over = self.over as f64;
        let [c, a, b] = self.plane.map(|n| n as f64 / over);
        points.near.plane([c, a, b], self.half as f64 / over)
    }
}

/// The member of the basis that `entering` replaces, and whether that gains anything.
fn leaving(points: &[[i64; 3]], basis: &[Member; 4], entering: Member) -> Option<(usize, bool)> {
    let rows = columns(points, basis)?;
    let sign = det(&rows).signum();
    let weights = solved(&rows, [0, 0, 0, 1]);
    let shares = solved(&rows, column(points, entering)?);
    let mut best: Option<(i128, i128, Member, usize)> = None;
    for (slot, member) in basis.iter().enumerate() {
        let (weight, share) = (weights[slot] * sign, shares[slot] * sign);
        if share <= 0 {
            continue;
        }
        let better = best.is_none_or(|(w, s, m, _)| {
            let ratio = wide_integers::product(weight, s).cmp(&wide_integers::product(w, share));
            ratio.then(member.cmp(&m)).is_lt()
        });
        if better {
            best = Some((weight, share, *member, slot));
        }
    }
    best.map(|(weight, _, _, slot)| (slot, weight > 0))
}

#[cfg(test)]
mod tests;
