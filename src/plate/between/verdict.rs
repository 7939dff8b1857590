//! What a plane will do, in figures: how sure, where it is worst, where one more touch would tell most.

use super::chance::normal;
use super::land::{Land, LandError, length};
use super::map::Class;
use crate::quantity::Length;

/// Crossings that the plate is looked at, edges included.
const LOOK: [usize; 2] = [61, 41];
/// A place between touches.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sample {
    /// To the right.
    pub x: Length,
    /// Away from the front.
    pub y: Length,
    /// Expected height minus plane.
    pub depth: Length,
    /// Its scatter.
    pub scatter: Length,
}

/// What a plane will do.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Verdict {
    /// The plane.
    pub plane: Length,
    /// The lowest touch.
    pub lowest: String,
    /// Its height minus the plane.
    pub clearance: Length,
    /// Standard uncertainty of touch and shared together.
    pub standard: Length,
    /// The chance, in ten-thousandths and rounded down, that every touched place cleans: at least
    /// Phi(clearance / standard), whatever their number. Source: derived; checked by simulation.
    pub sure: u32,
    /// Whether the clearance is no less than both hard limits together.
    pub certain: bool,
    /// Thousandths of the plate by [`Class::ALL`]; `None` where nothing is known between the touches.
    pub shares: Option<[u32; 4]>,
    /// Where it is nearest to failing.
    pub worst: Option<Sample>,
    /// Planes that clear every place by twice and by three times its scatter.
    pub planes: Option<[Length; 2]>,
    /// Where to touch next.
    pub next: [Length; 2],
    /// Whether the middle was never touched: it is asked for first.
    pub centre: bool,
    /// Round spots up to this wide can lie unseen, their middle on the plate: twice the greatest distance from a place to
    /// its nearest touch. Source: geometry; 1.41 times the pitch of a square grid.
    pub hides: Length,
    /// Thousandths of the plate, rounded up, that may lie below the plane unseen at 95 % had the places been picked at
    /// random: 1 - 0.05^(1/N). Source: derived, no low place among N picks. `None` where a touch lies below the plane, or
    /// where the places say nothing of the middle.
    pub unseen: Option<u32>,
    /// Edges with a long stretch that was never touched.
    pub edges: Vec<&'static str>,
}

#[allow(clippy::cast_precision_loss)]
fn crossings(low: f64, whole: f64, count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| low + whole * i as f64 / (count - 1) as f64)
        .collect()
}

impl Land {
    /// What `plane` will do.
    ///
    /// # Errors
    /// As for the land itself.
    pub fn verdict(&self, plane: Length) -> Result<Verdict, LandError> {
        let size = self.size();
        let xs = crossings(self.low[0].mm(), size[0], LOOK[0]);
        let ys = crossings(self.low[1].mm(), size[1], LOOK[1]);
        let seen = self.seen(&xs, &ys)?;
        let lowest = self.lowest().ok_or(LandError::TooFar)?;
        let clearance = lowest.height.minus(plane).ok_or(LandError::TooFar)?;
        let standard = self.doubt.standard();
        let mut counts = [0_u32; 4];
        let mut worst: Option<(f64, usize)> = None;
        let mut deeper = [f64::INFINITY; 2];
        for (i, (z, d)) in seen.iter().enumerate() {
            let Some(s) = self.band(*d) else { continue };
            let depth = z - plane.mm();
            let class = Class::of(depth, Some(s));
            counts[Class::ALL.iter().position(|c| *c == class).unwrap_or(2)] += 1;
            // Without any scatter the shallowest place is the worst.
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
            Ok::<_, LandError>(Sample {
                x: length(x)?,
                y: length(y)?,
                depth: length(z - plane.mm())?,
                scatter: length(self.band(d).unwrap_or_default())?,
            })
        };
        let total: u32 = counts.iter().sum();
        let known = self.typical.is_some() && total > 0;
        let planes = || Ok::<_, LandError>([length(deeper[0])?, length(deeper[1])?]);
        let (next, centre) = self.next(&seen, at)?;
        Ok(Verdict {
            plane,
            lowest: lowest.point.clone(),
            clearance,
            standard: length(standard)?,
            sure: sure(clearance.mm(), standard),
            certain: self.doubt.certain().is_some_and(|c| clearance >= c),
            shares: known.then(|| thousandths(counts)),
            worst: worst
                .filter(|_| known)
                .map(|(_, i)| sample(i))
                .transpose()?,
            planes: known.then(planes).transpose()?,
            next,
            centre,
            hides: length(2.0 * seen.iter().map(|s| s.1).fold(0.0, f64::max))?,
            unseen: (known && clearance >= Length::ZERO).then(|| unseen(self.spots.len())),
            edges: self.bare_edges(),
        })
    }
}

/// Rounded down, so that nothing is promised that is not there.
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

/// Counts as thousandths that add up: what rounding leaves goes to the largest.
fn thousandths(counts: [u32; 4]) -> [u32; 4] {
    let total = counts.iter().sum::<u32>().max(1);
    let mut shares = counts.map(|c| c * 1000 / total);
    let left = 1000 - shares.iter().sum::<u32>();
    if let Some(most) = shares.iter_mut().max() {
        *most += left;
    }
    shares
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // rounded to tenths before
mod tests {
    use crate::plate::between::{Bound, Class, Doubt, Land};
    use crate::plate::spot::Spot;
    use crate::quantity::Length;

    fn thou(n: f64) -> Length {
        super::length(n * 0.0254).unwrap()
    }

    fn doubt() -> Doubt {
        // Shared 0.2 is a standard uncertainty: half of 0.4.
        Doubt {
            touch: Bound::Limits(thou(0.5)),
            shared: Bound::Twice(thou(0.4)),
        }
    }

    fn touched(all: &[(&str, f64, f64, f64)]) -> Vec<Spot> {
        let spot = |(p, x, y, z): &(&str, f64, f64, f64)| Spot {
            point: (*p).into(),
            x: thou(x * 1000.0),
            y: thou(y * 1000.0),
            height: thou(*z),
        };
        all.iter().map(spot).collect()
    }

    const NINE: [(&str, f64, f64, f64); 9] = [
        ("SW", 0.0, 0.0, 4.5),
        ("S", 12.0, 0.0, 1.0),
        ("SE", 24.0, 0.0, -3.0),
        ("W", 0.0, 8.0, 3.0),
        ("C", 12.0, 8.0, -4.0),
        ("E", 24.0, 8.0, -2.5),
        ("NW", 0.0, 16.0, 2.0),
        ("N", 12.0, 16.0, 0.5),
        ("NE", 24.0, 16.0, -1.5),
    ];

    // Source: worked example on 24 by 16 in, in thousandths of an inch, computed by another program.
    #[test]
    fn the_worked_example() {
        let land = Land::of(&touched(&NINE), None, doubt()).unwrap();
        let inch = |l: Length| l.mm() / 25.4;
        let misses: Vec<(&str, f64)> = land
            .misses
            .iter()
            .map(|m| (m.point.as_str(), (inch(m.off) * 1e5).round() / 100.0))
            .collect();
        assert_eq!(
            misses,
            [
                ("S", 0.25),
                ("W", -0.25),
                ("C", -4.5),
                ("E", -0.25),
                ("N", 0.25)
            ]
        );
        assert!((inch(land.typical.unwrap()) * 1e3 - 2.025).abs() < 0.001);
        assert_eq!(land.worst_miss().unwrap().point, "C");
        let found = land.verdict(thou(-5.0)).unwrap();
        assert_eq!(found.lowest, "C");
        assert_eq!(found.clearance, thou(1.0));
        assert!((inch(found.standard) * 1e3 - 0.351).abs() < 0.001);
        assert_eq!(found.sure / 10, 997); // 99.78 %, printed there as 99.8
        let [cleans, likely, not_known, stays] = found.shares.unwrap();
        assert_eq!(
            ((cleans + 5) / 10, (likely + 5) / 10, not_known, stays),
            (71, 29, 0, 0)
        );
        let worst = found.worst.unwrap();
        let at = |p: [Length; 2]| p.map(|l| (inch(l) * 10.0).round() / 10.0);
        assert_eq!(at([worst.x, worst.y]), [18.0, 8.0]);
        assert!(
            (inch(worst.depth) * 1e3 - 1.75).abs() < 0.001
                && (inch(worst.scatter) * 1e3 - 1.56).abs() < 0.005
        );
        let planes = found
            .planes
            .unwrap()
            .map(|p| (inch(p) * 1e4).round() / 10.0);
        assert_eq!(planes, [-6.4, -7.9]);
        assert_eq!((at(found.next), found.centre), ([18.0, 4.0], false));
        assert!(found.edges.is_empty());
    }

    // Source: 95 % needs 1.645, 99 % 2.326 standard uncertainties; certain from the sum of the hard limits on.
    #[test]
    fn what_is_certain_is_said_so() {
        let hard = Doubt {
            touch: Bound::Limits(thou(0.5)),
            shared: Bound::Limits(thou(0.35)),
        };
        let land = Land::of(&touched(&NINE), None, hard).unwrap();
        assert!(land.verdict(thou(-4.85)).unwrap().certain);
        assert!(!land.verdict(thou(-4.849)).unwrap().certain);
        let land = Land::of(&touched(&NINE), None, doubt()).unwrap();
        for (c, least) in [(0.58, 9500), (0.82, 9900)] {
            let sure = land.verdict(thou(-4.0 - c)).unwrap().sure;
            assert!((least..least + 20).contains(&sure), "{sure}");
        }
    }

    #[test]
    fn four_corners_give_no_share_and_ask_for_the_middle() {
        let corners: Vec<_> = NINE.iter().filter(|p| p.0.len() == 2).copied().collect();
        let land = Land::of(&touched(&corners), None, doubt()).unwrap();
        let found = land.verdict(thou(-50.0)).unwrap();
        assert_eq!(
            (found.shares, found.worst, found.planes, found.unseen),
            (None, None, None, None)
        );
        assert_eq!(
            (found.centre, found.next),
            (true, [thou(12_000.0), thou(8_000.0)])
        );
        assert_eq!(found.edges, ["front", "back", "left", "right"]);
        let map = land.map(thou(-50.0), 6, 4).unwrap();
        assert!(map.cells.iter().all(|c| c.class == Class::NotKnown));
        // One touch in the middle, and there is something to go by.
        let five: Vec<_> = NINE
            .iter()
            .filter(|p| p.0.len() == 2 || p.0 == "C")
            .copied()
            .collect();
        let land = Land::of(&touched(&five), None, doubt()).unwrap();
        assert_eq!(land.misses.len(), 1);
        assert!(land.verdict(thou(-50.0)).unwrap().shares.is_some());
    }

    // Source: the figures printed for 95 % and 4 to 100 random picks, computed by another program; 0.05^(1/N) by hand.
    #[test]
    fn what_random_picks_leave_unseen() {
        for (picks, per_cent) in [
            (4, 53),
            (5, 45),
            (9, 28),
            (16, 17),
            (25, 11),
            (49, 6),
            (100, 3),
        ] {
            assert_eq!((super::unseen(picks) + 5) / 10, per_cent, "{picks}");
        }
    }

    // Source: geometry. Among touches 12 and 8 in apart a spot about the middle of four of them is 14.42 in wide.
    #[test]
    fn a_spot_hides_where_the_gap_is_widest() {
        let land = Land::of(&touched(&NINE), None, doubt()).unwrap();
        let found = land.verdict(thou(-5.0)).unwrap();
        assert!((found.hides.mm() / 25.4 - 208.0_f64.sqrt()).abs() < 1e-6);
        assert_eq!(found.unseen, Some(284));
        assert_eq!(land.verdict(thou(-3.9)).unwrap().unseen, None);
    }

    #[test]
    fn a_plane_above_the_lowest_touch_leaves_skin() {
        let land = Land::of(&touched(&NINE), None, doubt()).unwrap();
        let map = land.map(thou(3.0), 24, 16).unwrap();
        assert_eq!(map.cells.len(), 24 * 16);
        assert_eq!(map.cells[23].class, Class::Stays);
        assert!(land.verdict(thou(3.0)).unwrap().sure == 0);
    }
}
