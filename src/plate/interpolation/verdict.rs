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
mod tests {
    use crate::plate::interpolation::{
        Class, HeightUncertainty, PlateFacts, TouchedPlate, UncertaintyKind, UnplacedTouch,
    };
    use crate::plate::placed_point::PlacedPoint;
    use crate::quantity::Length;

    fn thou(n: f64) -> Length {
        super::length(n * 0.0254).unwrap()
    }

    fn doubt() -> HeightUncertainty {
        // A shared 0.2 is a standard uncertainty: half of 0.4.
        HeightUncertainty {
            touch: UncertaintyKind::Limits(thou(0.5)),
            shared: UncertaintyKind::Twice(thou(0.4)),
        }
    }

    fn touched(all: &[(&str, f64, f64, f64)]) -> Vec<PlacedPoint> {
        let spot = |(p, x, y, z): &(&str, f64, f64, f64)| PlacedPoint {
            point: (*p).into(),
            x: thou(x * 1000.0),
            y: thou(y * 1000.0),
            height: thou(*z),
        };
        all.iter().map(spot).collect()
    }

    /// A surface without waves, as in the worked example.
    fn even() -> PlateFacts {
        PlateFacts {
            waviness: Some(Length::ZERO),
            ..PlateFacts::with_uncertainty(doubt())
        }
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
        let land = TouchedPlate::of(&touched(&NINE), even()).unwrap();
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
        // 71 % is three times its scatter above the plane there; only positions near a touch are in the class "cleans":
        // four quarter, four half and one whole circle of half an inch, pi / 4 in^2 each, of 384 in^2.
        let [cleans, likely, not_known, stays] = found.shares.unwrap();
        assert!((4..12).contains(&cleans), "{cleans}");
        assert_eq!((cleans + likely, not_known, stays), (1000, 0, 0));
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

    // Source: by hand. A clean tilt of 1 thou per inch to the right and to the back, touched 2 in inside the edges; the
    // corner is 4 thou below the lowest touch.
    #[test]
    fn a_corner_beyond_the_touches_continues_the_tilt() {
        let mut all = Vec::new();
        for (name, i) in ["a", "b", "c", "d", "e", "f", "g", "h", "i"]
            .iter()
            .zip(0_u32..)
        {
            let at = [2.0 + 10.0 * f64::from(i % 3), 2.0 + 6.0 * f64::from(i / 3)];
            all.push((*name, at[0], at[1], at[0] + at[1]));
        }
        let facts = PlateFacts {
            size: Some([thou(24_000.0), thou(16_000.0)]),
            ..even()
        };
        let land = TouchedPlate::of(&touched(&all), facts).unwrap();
        let found = land.verdict(thou(2.0)).unwrap();
        let worst = found.worst.unwrap();
        assert_eq!([worst.x, worst.y], [Length::ZERO; 2]);
        assert!((worst.depth.mm() / 0.0254 + 2.0).abs() < 1e-3);
        let map = land.map(thou(2.0), 48, 32).unwrap();
        assert_eq!(map.cells[0].class, Class::Stays);
    }

    // Source: by hand. The lowest touch counts even without a position.
    #[test]
    fn a_touch_without_a_position_counts_for_the_depth() {
        let low = UnplacedTouch {
            point: "X".into(),
            height: thou(-6.0),
        };
        let facts = PlateFacts {
            unplaced: vec![low],
            ..even()
        };
        let land = TouchedPlate::of(&touched(&NINE), facts).unwrap();
        let found = land.verdict(thou(-5.0)).unwrap();
        assert_eq!((found.lowest.as_str(), found.clearance), ("X", thou(-1.0)));
        assert_eq!((found.sure / 100, found.unseen), (0, None));
    }

    #[test]
    fn parts_add_up_and_no_class_disappears() {
        use super::shared_out;
        assert_eq!(shared_out([333, 333, 334, 0], 100), [33, 33, 34, 0]);
        assert_eq!(shared_out([715, 285, 0, 0], 100), [71, 29, 0, 0]);
        assert_eq!(shared_out([2499, 0, 0, 2], 1000), [999, 0, 0, 1]);
        assert_eq!(shared_out([996, 1, 1, 2], 100), [97, 1, 1, 1]);
        assert_eq!(shared_out([7, 0, 0, 0], 100), [100, 0, 0, 0]);
        for i in 0..2000_u32 {
            let counts = [i * 7 % 1000, i * 13 % 50, i % 3, i * 31 % 700];
            if counts != [0; 4] {
                let shares = shared_out(counts, 100);
                assert_eq!(shares.iter().sum::<u32>(), 100, "{counts:?}");
                assert!(
                    counts.iter().zip(shares).all(|(c, s)| (*c > 0) == (s > 0)),
                    "{counts:?} {shares:?}"
                );
            }
        }
    }

    // Source: 95 % needs 1.645, 99 % 2.326 standard uncertainties; certain from the sum of the hard limits on.
    #[test]
    fn a_certain_clearance_is_reported_as_certain() {
        let hard = HeightUncertainty {
            touch: UncertaintyKind::Limits(thou(0.5)),
            shared: UncertaintyKind::Limits(thou(0.35)),
        };
        let land = TouchedPlate::of(&touched(&NINE), PlateFacts::with_uncertainty(hard)).unwrap();
        assert!(land.verdict(thou(-4.85)).unwrap().certain);
        assert!(!land.verdict(thou(-4.849)).unwrap().certain);
        let land =
            TouchedPlate::of(&touched(&NINE), PlateFacts::with_uncertainty(doubt())).unwrap();
        for (c, least) in [(0.58, 9500), (0.82, 9900)] {
            let sure = land.verdict(thou(-4.0 - c)).unwrap().sure;
            assert!((least..least + 20).contains(&sure), "{sure}");
        }
    }

    #[test]
    fn four_corners_give_no_parts_and_need_the_middle_next() {
        let corners: Vec<_> = NINE.iter().filter(|p| p.0.len() == 2).copied().collect();
        let land =
            TouchedPlate::of(&touched(&corners), PlateFacts::with_uncertainty(doubt())).unwrap();
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
        // With one touch in the middle, the space between touches can be judged.
        let five: Vec<_> = NINE
            .iter()
            .filter(|p| p.0.len() == 2 || p.0 == "C")
            .copied()
            .collect();
        let land =
            TouchedPlate::of(&touched(&five), PlateFacts::with_uncertainty(doubt())).unwrap();
        assert_eq!(land.misses.len(), 1);
        assert!(land.verdict(thou(-50.0)).unwrap().shares.is_some());
    }

    // Source: the figures printed for 95 % and 4 to 100 random choices, computed by another program; 0.05^(1/N) by
    // hand.
    #[test]
    fn random_choices_leave_a_known_part_undetected() {
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

    // Source: geometry. Among touches 12 and 8 in apart, a spot about the middle of four of them is 14.42 in wide.
    #[test]
    fn the_widest_gap_hides_the_largest_spot() {
        let land =
            TouchedPlate::of(&touched(&NINE), PlateFacts::with_uncertainty(doubt())).unwrap();
        let found = land.verdict(thou(-5.0)).unwrap();
        assert!((found.hides.mm() / 25.4 - 208.0_f64.sqrt()).abs() < 1e-6);
        assert_eq!(found.unseen, Some(284));
        assert_eq!(land.verdict(thou(-3.9)).unwrap().unseen, None);
    }

    #[test]
    fn a_plane_above_the_lowest_touch_leaves_old_surface() {
        let land =
            TouchedPlate::of(&touched(&NINE), PlateFacts::with_uncertainty(doubt())).unwrap();
        let map = land.map(thou(3.0), 24, 16).unwrap();
        assert_eq!(map.cells.len(), 24 * 16);
        assert_eq!(map.cells[23].class, Class::Stays);
        assert!(land.verdict(thou(3.0)).unwrap().sure == 0);
    }
}
