//! The minimum zone of touched places, measured along z: the least gap between two parallel planes that hold them all.
//!
//! Exact: a one-point exchange (the simplex method on the dual of the Chebyshev plane problem) over integers, so ties
//! and rounding cannot mislead it. The answer carries its proof, see [`Zone::holders`]. Against a search over faces of
//! the hull: that doubles the answer on a twisted plate with four corners.
//! The distance square to the planes is smaller by about half the slope squared, and is not worked out here.

use crate::quantity::Exact;
use thiserror::Error;

/// Places and heights lie within this of the first, so that no determinant leaves 128 bits.
const REACH: i64 = 1 << 29;
/// Steps without gain before the lowest index goes in and out, which cannot cycle.
const PATIENCE: usize = 8;
/// Far above what any set has needed; a bound so that the loop ends whatever happens.
const MOST_STEPS: usize = 100_000;

/// A touched place with its height, in whole counts; x and y share one unit, z may have another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Site {
    /// To the right.
    pub x: i64,
    /// Away from the front.
    pub y: i64,
    /// Up.
    pub z: i64,
}

/// Why no plane fits.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum FitError {
    /// Fewer than three places.
    #[error(
        "one place or two say nothing of a plane; touch at least three places, not on one line"
    )]
    TooFew,
    /// All on one line.
    #[error("the touched places lie on one line; touch one to the side of it")]
    OnOneLine,
    /// Out of reach.
    #[error("the places or heights lie too far apart for their fineness; give coarser figures")]
    TooFar,
    /// No end found.
    #[error("no end was found; check places and heights")]
    NoEnd,
}

/// A place that holds the zone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Holder {
    /// Index of the site.
    pub site: usize,
    /// On the top plane, or else on the bottom one.
    pub top: bool,
    /// Its share; the shares add up to one.
    pub weight: Exact,
}

/// The minimum zone.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Zone {
    /// The gap between the planes along z, in counts of z.
    pub width: Exact,
    /// c, a, b of the middle plane c + a x + b y, x, y and z counted from the first site.
    pub middle: [Exact; 3],
    /// At most four places. With s = +1 on top and -1 below, and weights w: sum w = 1, sum s w = sum s w x =
    /// sum s w y = 0 and sum s w z = half the width, so that no plane can do with less.
    pub holders: Vec<Holder>,
}

/// A site in the basis, with +1 for the top plane and -1 for the bottom one.
type Member = (usize, i128);
type Rows = [[i128; 4]; 4];

/// Finds the minimum zone of `sites`.
///
/// Three places always give a width of nought, which says nothing of the plate.
///
/// # Errors
/// Where no plane is fixed, or counts lie too far apart.
pub fn minimum(sites: &[Site]) -> Result<Zone, FitError> {
    let points = relative(sites)?;
    let mut basis = start(&points)?;
    let mut stalled = 0;
    for _ in 0..MOST_STEPS {
        let level = Level::through(&points, &basis).ok_or(FitError::NoEnd)?;
        let Some(entering) = level.worst(&points, stalled >= PATIENCE) else {
            return certified(&points, &basis, &level);
        };
        let (slot, gained) = leaving(&points, &basis, entering).ok_or(FitError::NoEnd)?;
        if let Some(member) = basis.get_mut(slot) {
            *member = entering;
        }
        stalled = if gained { 0 } else { stalled + 1 };
    }
    Err(FitError::NoEnd)
}

fn relative(sites: &[Site]) -> Result<Vec<[i128; 3]>, FitError> {
    let first = sites.first().ok_or(FitError::TooFew)?;
    let from = |a: i64, b: i64| {
        let d = a
            .checked_sub(b)
            .filter(|d| d.unsigned_abs() <= REACH.unsigned_abs());
        d.map(i128::from).ok_or(FitError::TooFar)
    };
    let point = |s: &Site| {
        Ok([
            from(s.x, first.x)?,
            from(s.y, first.y)?,
            from(s.z, first.z)?,
        ])
    };
    sites.iter().map(point).collect()
}

/// The first point on both planes, the farthest, and the one that makes the largest triangle: weights never below nought.
fn start(points: &[[i128; 3]]) -> Result<[Member; 4], FitError> {
    let far = |[x, y, _]: &[i128; 3]| x * x + y * y;
    let (second, away) = points
        .iter()
        .enumerate()
        .max_by_key(|(_, p)| far(p))
        .ok_or(FitError::TooFew)?;
    if far(away) == 0 {
        return Err(FitError::TooFew);
    }
    let area = |[x, y, _]: &[i128; 3]| (away[0] * y - away[1] * x).abs();
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

/// A determinant by the minors of its first and last two rows.
fn det([a, b, c, d]: &Rows) -> i128 {
    let top = |i: usize, j: usize| a[i] * b[j] - a[j] * b[i];
    let low = |i: usize, j: usize| c[i] * d[j] - c[j] * d[i];
    top(0, 1) * low(2, 3) - top(0, 2) * low(1, 3) + top(0, 3) * low(1, 2) + top(1, 2) * low(0, 3)
        - top(1, 3) * low(0, 2)
        + top(2, 3) * low(0, 1)
}

/// Cramer's rule with rows put in for columns: the four numerators over [`det`] of `rows`.
fn solved(columns: &Rows, right: [i128; 4]) -> [i128; 4] {
    [0, 1, 2, 3].map(|k: usize| {
        let mut changed = *columns;
        changed[k] = right;
        det(&changed)
    })
}

fn column(points: &[[i128; 3]], (site, s): Member) -> Option<[i128; 4]> {
    let [x, y, _] = points.get(site)?;
    Some([s, s * x, s * y, 1])
}

fn columns(points: &[[i128; 3]], basis: &[Member; 4]) -> Option<Rows> {
    let [a, b, c, d] = basis.map(|m| column(points, m));
    Some([a?, b?, c?, d?])
}

/// The middle plane c + a x + b y and half the gap, over one positive denominator.
struct Level {
    over: i128,
    plane: [i128; 3],
    half: i128,
}

impl Level {
    fn through(points: &[[i128; 3]], basis: &[Member; 4]) -> Option<Self> {
        let rows = columns(points, basis)?;
        let turned = [0, 1, 2, 3].map(|i: usize| rows.map(|r| r[i]));
        let mut right = [0; 4];
        for (value, (site, s)) in right.iter_mut().zip(basis) {
            *value = s * points.get(*site)?[2];
        }
        let (over, [c, a, b, half]) = (det(&rows), solved(&turned, right));
        let sign = over.signum();
        (sign != 0).then(|| Self {
            over: over * sign,
            plane: [c * sign, a * sign, b * sign],
            half: half * sign,
        })
    }

    /// The reading furthest outside, or the first one outside; `None` when every one is within.
    fn worst(&self, points: &[[i128; 3]], first: bool) -> Option<Member> {
        let [c, a, b] = self.plane;
        let outside = points.iter().enumerate().filter_map(|(i, [x, y, z])| {
            let off = z * self.over - c - a * x - b * y;
            (off.abs() > self.half).then_some((off.abs(), (i, off.signum())))
        });
        let mut outside = outside.peekable();
        if first {
            return outside.next().map(|o| o.1);
        }
        outside.max_by_key(|o| o.0).map(|o| o.1)
    }
}

/// The place in the basis that gives way to `entering`, and whether that gains anything.
fn leaving(points: &[[i128; 3]], basis: &[Member; 4], entering: Member) -> Option<(usize, bool)> {
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
        let better = best
            .is_none_or(|(w, s, m, _)| (weight * s).cmp(&(w * share)).then(member.cmp(&m)).is_lt());
        if better {
            best = Some((weight, share, *member, slot));
        }
    }
    best.map(|(weight, _, _, slot)| (slot, weight > 0))
}

fn certified(points: &[[i128; 3]], basis: &[Member; 4], level: &Level) -> Result<Zone, FitError> {
    let rows = columns(points, basis).ok_or(FitError::NoEnd)?;
    let sign = det(&rows).signum();
    let mut holders = Vec::new();
    for ((site, s), weight) in basis.iter().zip(solved(&rows, [0, 0, 0, 1])) {
        if weight != 0 {
            let weight = Exact::fraction(weight * sign, level.over).ok_or(FitError::TooFar)?;
            holders.push(Holder {
                site: *site,
                top: *s > 0,
                weight,
            });
        }
    }
    let width = Exact::fraction(2 * level.half, level.over).ok_or(FitError::TooFar)?;
    let [c, a, b] = level.plane.map(|n| Exact::fraction(n, level.over));
    let (Some(c), Some(a), Some(b)) = (c, a, b) else {
        return Err(FitError::TooFar);
    };
    let middle = [c, a, b];
    Ok(Zone {
        width,
        middle,
        holders,
    })
}

#[cfg(test)]
mod tests;
