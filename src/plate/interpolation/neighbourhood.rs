//! The neighbourhood of each touch: what a plane does there, and how deep the old surface may be where it remains.
//!
//! A position belongs to the touch nearest to it, because people describe a position on a plate by the nearest point.

use super::map::Class;
use super::touched_plate::{TouchedPlate, TouchedPlateError, length};
use crate::quantity::Length;

/// Number of grid positions at which the plate is evaluated, in x and y, edges included.
const LOOK: [usize; 2] = [61, 41];

/// The state of the neighbourhood of one touch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TouchNeighbourhood {
    /// The name of the touch.
    pub point: String,
    /// The worst class expected in the neighbourhood.
    pub worst: Class,
    /// The lowest height expected there.
    pub expected: Length,
    /// The lowest height minus twice its scatter; `None` where no scatter is known.
    pub deepest: Option<Length>,
}

impl TouchedPlate {
    /// The effect of `plane` around each touch, in the order of touching.
    ///
    /// # Errors
    /// Those of [`TouchedPlate::of`].
    pub(crate) fn around(
        &self,
        plane: Length,
    ) -> Result<Vec<TouchNeighbourhood>, TouchedPlateError> {
        let size = self.size();
        #[allow(clippy::cast_precision_loss)]
        let line = |k: usize| -> Vec<f64> {
            (0..LOOK[k])
                .map(|i| self.low[k].mm() + size[k] * i as f64 / (LOOK[k] - 1) as f64)
                .collect()
        };
        let (xs, ys) = (line(0), line(1));
        let seen = self.seen(&xs, &ys)?;
        let places = self.places();
        let judge = self.judge();
        let class = |z: f64, d| judge.map_or(Class::NotKnown, |j| j.class(z - plane.mm(), d));
        let lowest = |z: f64, d| judge.map_or(f64::INFINITY, |j| z - 2.0 * j.scatter(d));
        let away = |p: &[f64; 3], [x, y]: [f64; 2]| (p[0] - x).hypot(p[1] - y);
        let mut found: Vec<(Class, f64, f64)> = places
            .iter()
            .map(|p| (class(p[2], 0.0), p[2], lowest(p[2], 0.0)))
            .collect();
        let crossings = ys.iter().flat_map(|y| xs.iter().map(move |x| [*x, *y]));
        for ((z, d), at) in seen.into_iter().zip(crossings) {
            let nearest = places
                .iter()
                .enumerate()
                .min_by(|a, b| away(a.1, at).total_cmp(&away(b.1, at)));
            let Some(here) = nearest.and_then(|(i, _)| found.get_mut(i)) else {
                continue;
            };
            here.0 = here.0.max(class(z, d));
            here.1 = here.1.min(z);
            here.2 = here.2.min(lowest(z, d));
        }
        let around = |(spot, (worst, expected, deepest)): (
            &crate::plate::PlacedPoint,
            (Class, f64, f64),
        )| {
            Ok(TouchNeighbourhood {
                point: spot.point.clone(),
                worst,
                expected: length(expected)?,
                deepest: deepest.is_finite().then(|| length(deepest)).transpose()?,
            })
        };
        self.spots.iter().zip(found).map(around).collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::plate::interpolation::{
        Class, HeightUncertainty, PlateFacts, TouchedPlate, UncertaintyKind,
    };
    use crate::plate::placed_point::PlacedPoint;
    use crate::quantity::Length;

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    fn land(all: &[(&str, i64, i64, i64)]) -> TouchedPlate {
        let spot = |(p, x, y, z): &(&str, i64, i64, i64)| PlacedPoint {
            point: (*p).into(),
            x: um(x * 1000),
            y: um(y * 1000),
            height: um(*z),
        };
        let doubt = HeightUncertainty {
            touch: UncertaintyKind::Limits(um(10)),
            shared: UncertaintyKind::Limits(Length::ZERO),
        };
        let spots: Vec<PlacedPoint> = all.iter().map(spot).collect();
        let facts = PlateFacts {
            waviness: Some(Length::ZERO),
            ..PlateFacts::with_uncertainty(doubt)
        };
        TouchedPlate::of(&spots, facts).unwrap()
    }

    // Source: a tilted plane is guessed exactly from its neighbours, so the band is that of a touch, 10 / root 3 um;
    // the neighbourhood of a touch ends halfway to the next column: arithmetic.
    #[test]
    fn positions_belong_to_the_nearest_touch() {
        let mut all = Vec::new();
        let names = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];
        for (name, i) in names.iter().zip(0..) {
            let (x, y) = (i % 3 * 100, i / 3 * 100);
            all.push((*name, x, y, -x));
        }
        let land = land(&all);
        let around = land.around(um(-120)).unwrap();
        assert_eq!(around.len(), 9);
        for (i, a) in around.iter().enumerate() {
            let column = i % 3;
            assert_eq!(a.point, names[i]);
            // Only to the nearest grid position; these are 200 / 60 mm apart.
            let lowest: f64 = [-50.0, -150.0, -200.0][column];
            assert!((a.expected.mm() * 1000.0 - lowest).abs() < 3.4, "{a:?}");
            let band = 2.0 * 10.0 / 3.0_f64.sqrt();
            let deepest = a.deepest.unwrap().mm() * 1000.0;
            assert!(
                (deepest - (a.expected.mm() * 1000.0 - band)).abs() < 0.1,
                "{a:?}"
            );
            // No position halfway between two touches is in the class "cleans".
            let worst = [Class::Likely, Class::Stays, Class::Stays];
            assert_eq!(a.worst, worst[column]);
        }
    }

    #[test]
    fn four_corners_give_no_lowest_height() {
        let land = land(&[
            ("a", 0, 0, 0),
            ("b", 9, 0, 1),
            ("c", 0, 9, 2),
            ("d", 9, 9, 3),
        ]);
        for a in land.around(um(-100)).unwrap() {
            assert_eq!((a.worst, a.deepest), (Class::NotKnown, None));
        }
    }
}
