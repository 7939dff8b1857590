//! The single rule by which map, verdict and inspection judge a position on the plate.

use super::map::Class;
use super::touched_plate::{TouchedPlate, length};
use crate::quantity::Length;

/// Largest distance from a touch for "cleans" where the cutter is unknown: half an inch, a small cutter's width (common
/// practice, no source).
const NEAR: i64 = 127_000_000;
/// Widest hollow covered by the waviness of a plate, in mm: an inch (common practice, no source).
const WIDE: f64 = 25.4;

/// The parts of the scatter between touches, in mm2, and the distance from a touch within which a position may be in
/// the class "cleans".
#[derive(Clone, Copy)]
pub(super) struct Judge {
    floor: f64,
    /// Scatter squared over distance squared.
    grows: f64,
    /// Distance from the cutter's middle to the metal that it touched, mm.
    rim: f64,
    reach: f64,
}

impl Judge {
    /// The scatter at the distance `away` from the nearest touch; both in mm.
    pub(crate) fn scatter(self, away: f64) -> f64 {
        let metal = away + self.rim;
        (self.floor + self.grows * metal * metal).sqrt()
    }

    /// The class of a position expected at `depth` above the plane, at `away` from the nearest touch; both in mm.
    pub(crate) fn class(self, depth: f64, away: f64) -> Class {
        match Class::of(depth, self.scatter(away)) {
            Class::Cleans if away > self.reach => Class::Likely,
            class => class,
        }
    }
}

impl TouchedPlate {
    /// The scatter s at the distance d from the nearest touch is sqrt(u'^2 + w^2/3 + l^2/3 + (L (d + r) / h)^2):
    /// uncertainty of a touch and of setting Z, hidden hollows, the height difference between the rim of a cutter and
    /// its middle on this slope, and the guess errors L at the typical distance h. The metal that was touched is on the
    /// rim, so up to d + r away. `None` where no touch could be hidden. Source: derived; checked on invented plates
    /// (tests/suite/invented).
    pub(super) fn judge(&self) -> Option<Judge> {
        let (missed, h) = (self.typical?.mm(), self.spacing.mm());
        let third = |limit: Length| limit.mm().powi(2) / 3.0;
        let floor = self.doubt.standard().powi(2) + third(self.hollow()) + third(self.lean);
        let (floor, grows) = if h > 0.0 {
            (floor, (missed / h).powi(2))
        } else {
            (floor + missed.powi(2), 0.0)
        };
        Some(Judge {
            floor,
            grows,
            rim: self.radius().mm(),
            reach: self.clean_within().mm(),
        })
    }

    /// Distance from the middle of the cutter that touched to its rim; zero where the cutter is unknown.
    pub(crate) fn radius(&self) -> Length {
        Length::from_counts(self.cutter.unwrap_or_default().counts() / 2).unwrap_or_default()
    }

    /// The depth of a hollow that may be hidden under the rim: the waviness of the plate, and in proportion more under
    /// a wide cutter, because a wider hollow of the same steepness is deeper. Source: geometry.
    pub(crate) fn hollow(&self) -> Length {
        let across = self.cutter.unwrap_or_default().mm();
        let deep = self.waviness.mm() * (across / WIDE).max(1.0);
        length(deep).unwrap_or(self.waviness)
    }

    /// The distance from a touch beyond which no position is in the class "cleans": the width of the cutter, but at
    /// most half the typical distance between touches. However many touches there are, a hollow fits between them
    /// beyond that. Source: samples show no wave shorter than twice their distance (sampling theorem, from memory).
    pub(crate) fn clean_within(&self) -> Length {
        let near = self.cutter.or_else(|| Length::from_counts(NEAR));
        let half = Length::from_counts(self.spacing.counts() / 2).unwrap_or_default();
        near.unwrap_or_default().min(half)
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

    /// A level plate with 3 x 3 touches at this distance, without uncertainty of touch or Z.
    fn level(apart: i64, cutter: i64) -> TouchedPlate {
        let names = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];
        let spot = |(point, i): (&&str, i64)| PlacedPoint {
            point: (*point).into(),
            x: um(i % 3 * apart * 1000),
            y: um(i / 3 * apart * 1000),
            height: Length::ZERO,
        };
        let spots: Vec<PlacedPoint> = names.iter().zip(0..).map(spot).collect();
        let none = UncertaintyKind::Limits(Length::ZERO);
        let facts = PlateFacts {
            waviness: Some(um(30)),
            cutter: Some(um(cutter * 1000)),
            ..PlateFacts::with_uncertainty(HeightUncertainty {
                touch: none,
                shared: none,
            })
        };
        TouchedPlate::of(&spots, facts).unwrap()
    }

    // Source: by hand; 50.8 mm are two inches, and a hard limit a counts as a / root 3.
    #[test]
    fn a_wide_cutter_hides_deeper_hollows() {
        for (cutter, hollow) in [(12, 30), (25, 30)] {
            assert_eq!(level(100, cutter).hollow(), um(hollow));
        }
        let facts = PlateFacts {
            cutter: Some(um(50_800)),
            ..PlateFacts::with_uncertainty(level(100, 12).doubt)
        };
        let land = TouchedPlate::of(&level(100, 12).spots, facts).unwrap();
        assert_eq!((land.hollow(), land.radius()), (um(60), um(25_400)));
        let scatter = land.judge().unwrap().scatter(0.0);
        assert!((scatter - 0.06 / 3.0_f64.sqrt()).abs() < 1e-9, "{scatter}");
    }

    // Source: by hand. Touches 20 mm apart show no wave shorter than 40 mm, so a cutter of 50 mm reaches 10 mm.
    #[test]
    fn a_touch_counts_at_most_half_way_to_the_next() {
        for (apart, cutter, within) in [(100, 12, 12), (100, 50, 50), (20, 50, 10), (10, 12, 5)] {
            let land = level(apart, cutter);
            assert_eq!(land.clean_within(), um(within * 1000));
            let judge = land.judge().unwrap();
            #[allow(clippy::cast_precision_loss)]
            let within = within as f64;
            assert_eq!(judge.class(1.0, within), Class::Cleans);
            assert_eq!(judge.class(1.0, within + 0.1), Class::Likely);
        }
    }
}
