//! The effect of a plane, in figures: how certain, where it is worst, where one more touch would be most useful.

use super::map::Class;
use super::nearest::NearestTouch;
use super::probability::normal;
use super::touched_plate::{TouchedPlate, TouchedPlateError, length};
use crate::quantity::Length;

/// Number of grid positions at which the plate is evaluated, in x and y, edges included.
const LOOK: [usize; 2] = [61, 41];
/// A position between touches.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sample {
    /// Distance to the right.
    pub x: Length,
    /// Distance away from the front.
    pub y: Length,
    /// Expected height minus plane.
    pub depth: Length,
    /// The scatter of the depth.
    pub scatter: Length,
}

/// The effect of a plane.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Verdict {
    /// The height at which the tip would travel, above the first touch of the run.
    pub plane: Length,
    /// The name of the lowest touch.
    pub lowest: String,
    /// Its height minus the plane.
    pub clearance: Length,
    /// Standard uncertainty of touch and shared part combined.
    pub standard: Length,
    /// The probability, in ten-thousandths and rounded down, that every touched position cleans: at least Phi(clearance
    /// / standard), whatever their number. Source: derived; checked by simulation.
    pub sure: u32,
    /// Whether the clearance is at least the sum of both hard limits.
    pub certain: bool,
    /// Parts of the plate in thousandths, in the order of [`Class::ALL`]; `None` where nothing is known between the
    /// touches.
    pub shares: Option<[u32; 4]>,
    /// The position that is nearest to failing.
    pub worst: Option<Sample>,
    /// Planes that leave every position above by twice, and by three times, its scatter.
    pub planes: Option<[Length; 2]>,
    /// Where to touch next.
    pub next: [Length; 2],
    /// Whether the middle was never touched: it is then the next touch to make.
    pub centre: bool,
    /// Largest diameter of a round spot, with its middle on the plate, that no touch may have met: twice the greatest
    /// distance from a position to its nearest touch. Source: geometry; 1.41 times the pitch of a square grid.
    pub hides: Length,
    /// Thousandths of the plate, rounded up, that may be below the plane and undetected at 95 % confidence, if the
    /// positions had been chosen at random: 1 - 0.05^(1/N). Source: derived, no low position among N choices. `None`
    /// where a touch is below the plane, or where the positions give no information about the middle.
    pub unseen: Option<u32>,
    /// Edges with a long part that was never touched.
    pub edges: Vec<&'static str>,
}

/// The widest gap is found to within this, in mm.
const GAP: f64 = 1e-5;

#[allow(clippy::cast_precision_loss)]
fn crossings(low: f64, whole: f64, count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| low + whole * i as f64 / (count - 1) as f64)
        .collect()
}

impl TouchedPlate {
    /// The effect of cutting at `plane`.
    ///
    /// # Errors
    /// Those of [`TouchedPlate::of`].
    pub(crate) fn verdict(&self, plane: Length) -> Result<Verdict, TouchedPlateError> {
        let size = self.size();
        let xs = crossings(self.low[0].mm(), size[0], LOOK[0]);
        let ys = crossings(self.low[1].mm(), size[1], LOOK[1]);
        let seen = self.seen(&xs, &ys)?;
        let (lowest, height) = self.lowest().ok_or(TouchedPlateError::TooFar)?;
        let clearance = height.minus(plane).ok_or(TouchedPlateError::TooFar)?;
        let standard = self.doubt.standard();
        let judge = self.judge();
        // A grid position on an edge represents half the area of one inside, at a corner a quarter.
        let weight = |i: usize| -> u32 {
            let inside = |k: usize, n: usize| (1..LOOK[k] - 1).contains(&n);
            let both = [inside(0, i % LOOK[0]), inside(1, i / LOOK[0])];
            both.map(|inside| if inside { 2 } else { 1 })
                .iter()
                .product()
        };
        let mut counts = [0_u32; 4];
        let mut worst: Option<(f64, usize)> = None;
        let mut deeper = [f64::INFINITY; 2];
        for (i, (z, d)) in seen.iter().enumerate() {
            let Some(judge) = judge else { continue };
            let (depth, s) = (z - plane.mm(), judge.scatter(*d));
            let class = judge.class(depth, *d);
            counts[Class::ALL.iter().position(|c| *c == class).unwrap_or(2)] += weight(i);
            // Without any scatter the position with the least depth is the worst.
            let ratio = if s > 0.0 { depth / s } else { depth * 1e9 };
            if worst.is_none_or(|(least, _)| ratio < least) {
                worst = Some((ratio, i));
            }
            for (k, plane) in [2.0, 3.0].iter().zip(&mut deeper) {
                *plane = plane.min(z - k * s);
            }
        }
        let at = |i: usize| [xs[i % LOOK[0]], ys[i / LOOK[0]]];
        let sample = |i: usize| {
            let ([x, y], (z, d)) = (at(i), seen[i]);
            Ok::<_, TouchedPlateError>(Sample {
                x: length(x)?,
                y: length(y)?,
                depth: length(z - plane.mm())?,
                scatter: length(judge.map_or(0.0, |j| j.scatter(d)))?,
            })
        };
        let total: u32 = counts.iter().sum();
        let known = judge.is_some() && total > 0;
        let planes = || Ok::<_, TouchedPlateError>([length(deeper[0])?, length(deeper[1])?]);
        let (next, centre) = self.next(&seen, at)?;
        Ok(Verdict {
            plane,
            lowest: lowest.to_owned(),
            clearance,
            standard: length(standard)?,
            sure: sure(clearance.mm(), standard),
            certain: self.doubt.certain().is_some_and(|c| clearance >= c),
            shares: known.then(|| shared_out(counts, 1000)),
            worst: worst
                .filter(|_| known)
                .map(|(_, i)| sample(i))
                .transpose()?,
            planes: known.then(planes).transpose()?,
            next,
            centre,
            hides: length(2.0 * self.furthest())?,
            unseen: (known && clearance >= Length::ZERO).then(|| unseen(self.spots.len())),
            edges: self.bare_edges(),
        })
    }
}

impl TouchedPlate {
    /// The largest distance of any position from its nearest touch, in mm. A box is divided into four as long as it may
    /// contain a position further away: between two positions that distance changes by no more than the distance
    /// between them.
    fn furthest(&self) -> f64 {
        let (places, size) = (self.places(), self.size());
        let near = NearestTouch::new(&places);
        let corner = |k: usize, far: f64| self.low[k].mm() + far * size[k];
        let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]];
        let mut best = corners
            .map(|[x, y]| near.distance([corner(0, x), corner(1, y)]))
            .into_iter()
            .fold(0.0, f64::max);
        let mut boxes = vec![([0, 1].map(|k| corner(k, 0.5)), size)];
        while !boxes.is_empty() {
            let measured: Vec<_> = boxes
                .into_iter()
                .map(|(middle, size)| (near.distance(middle), middle, size))
                .collect();
            best = measured.iter().map(|m| m.0).fold(best, f64::max);
            let may = |(away, _, [wide, deep]): &(f64, [f64; 2], [f64; 2])| {
                away + wide.hypot(*deep) / 2.0 > best + GAP
            };
            let quarters = |(_, [x, y], [wide, deep]): (f64, [f64; 2], [f64; 2])| {
                let quarter = [wide / 2.0, deep / 2.0];
                [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)].map(|(a, b)| {
                    (
                        [x + a * quarter[0] / 2.0, y + b * quarter[1] / 2.0],
                        quarter,
                    )
                })
            };
            boxes = measured
                .into_iter()
                .filter(may)
                .flat_map(quarters)
                .collect();
        }
        best
    }
}

/// Rounded down, so that the result is never better than the truth.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a share of one
fn sure(clearance: f64, standard: f64) -> u32 {
    let share = match standard {
        s if s > 0.0 => normal(clearance / s),
        _ if clearance >= 0.0 => 1.0,
        _ => 0.0,
    };
    (share * 10_000.0).floor() as u32
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a share of one
fn unseen(touches: usize) -> u32 {
    let picks = f64::from(u32::try_from(touches.max(1)).unwrap_or(u32::MAX));
    ((1.0 - 0.05_f64.powf(1.0 / picks)) * 1000.0).ceil() as u32
}

/// Scales counts to parts that add up to `whole`. Every count above zero gets at least one part, so that none
/// disappears, and the first, which is the promise, is rounded down.
pub(crate) fn shared_out(counts: [u32; 4], whole: u32) -> [u32; 4] {
    let total = u64::from(counts.iter().sum::<u32>().max(1));
    let part = |c: u32| u64::from(c) * u64::from(whole);
    let least = |c: u32| u32::try_from(part(c) / total).unwrap_or(whole);
    let mut shares = counts.map(|c| least(c).max(u32::from(c > 0)));
    let sum: u32 = shares.iter().sum();
    // The surplus from these minimum parts is taken from the largest.
    for _ in whole..sum {
        if let Some(most) = shares.iter_mut().max() {
            *most -= 1;
        }
    }
    let mut order: Vec<usize> = (1..4).filter(|i| counts[*i] > 0).collect();
    order.sort_by_key(|i| std::cmp::Reverse(part(counts[*i]) % total));
    let others = if order.is_empty() { vec![0] } else { order };
    for i in (sum..whole).zip(others.iter().cycle()).map(|s| *s.1) {
        shares[i] += 1;
    }
    shares
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // rounded to tenths before
mod tests;
