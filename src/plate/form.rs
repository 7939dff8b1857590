//! The form of the plate, from the touched positions: tilt, twist and flatness, with the touches that determine it.
//!
//! The raw spread determines the cut, because the tip travels level in the machine; flatness describes the plate with
//! the tilt removed. One figure never has both names. From a few touches flatness is a lower bound: ISO 1101 and ISO
//! 12781 define it for the whole surface (from memory).

use super::fit::{FitError, Site, lsq, square, twist, zone};
use super::placed_point::PlacedPoint;
use super::working::{Working, plain};
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

/// The two lengths over which tilt is given, in mm: 100 mm and 12 in.
const OVER: [f64; 2] = [100.0, 304.8];

/// Tilt, twist and flatness of touched positions.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Form {
    /// Highest minus lowest height, in the coordinates of the machine.
    pub spread: Length,
    /// Rise to the right over 100 mm and over 12 in.
    pub right: [Length; 2],
    /// Rise away from the front over 100 mm and over 12 in.
    pub back: [Length; 2],
    /// Range about the least-squares plane, measured along z.
    pub least_squares: Length,
    /// Range about the least-squares plane, measured perpendicular to it.
    pub least_squares_square: Length,
    /// The minimum zone, measured along z.
    pub zone: Length,
    /// The minimum zone, measured perpendicular to its planes: the flatness of the touched positions.
    pub flatness: Length,
    /// Points that determine the zone on top and below.
    pub held: [Vec<String>; 2],
    /// Twist from the points nearest the corners, and whether they are exactly at the corners.
    pub corners: Option<(Length, bool)>,
    /// Twist of the fitted surface.
    pub bilinear: Option<Length>,
    /// Number of touches that it is computed from.
    pub touches: usize,
}

#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)] // the one rounding of a fit
fn near(counts: f64) -> Result<Length, FitError> {
    let limit = Length::LIMIT as f64;
    let inside = counts.is_finite() && counts.abs() <= limit;
    let whole = inside.then(|| counts.round() as i64);
    whole.and_then(Length::from_counts).ok_or(FitError::TooFar)
}

impl Form {
    /// Computes all figures from `spots`.
    ///
    /// # Errors
    /// Where the positions determine no plane, or are too far apart.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn of(spots: &[PlacedPoint]) -> Result<Self, FitError> {
        let sites: Vec<Site> = spots.iter().map(PlacedPoint::site).collect();
        let exact = zone::minimum(&sites)?;
        let (plane, square) = (lsq::plane(&sites)?, square::flatness(&sites)?);
        let held = [true, false].map(|top| {
            let there = exact.holders.iter().filter(|h| h.top == top);
            let names = there.filter_map(|h| spots.get(h.site).map(|s| s.point.clone()));
            names.collect()
        });
        let per = Length::COUNTS_PER_MM as f64;
        let over = |slope: f64| -> Result<[Length; 2], FitError> {
            let [a, b] = OVER.map(|mm| near(slope * mm * per));
            Ok([a?, b?])
        };
        let ends = |of: fn(&Site) -> i64| {
            let all = || sites.iter().map(of);
            (all().min().unwrap_or(0), all().max().unwrap_or(0))
        };
        let ((x0, x1), (y0, y1), (z0, z1)) = (ends(|s| s.x), ends(|s| s.y), ends(|s| s.z));
        let corners = twist::corners(&sites, (x0, y0), (x1, y1));
        let length = |counts: i128| {
            let counts = i64::try_from(counts).ok();
            counts.and_then(Length::from_counts).ok_or(FitError::TooFar)
        };
        Ok(Self {
            spread: length(i128::from(z1) - i128::from(z0))?,
            right: over(plane.right)?,
            back: over(plane.back)?,
            least_squares: near(plane.range)?,
            least_squares_square: near(square.least_squares)?,
            zone: length(exact.width.round())?,
            flatness: near(square.zone)?,
            held,
            corners: corners
                .map(|c| length(c.twist).map(|t| (t, c.exact)))
                .transpose()?,
            bilinear: twist::bilinear(&sites).map(near).transpose()?,
            touches: sites.len(),
        })
    }

    /// `held by P3 and P17 on top, P8 and P21 below`; empty where nothing is held.
    pub(crate) fn held_words(&self) -> String {
        let names = |all: &[String]| match all {
            [] => String::new(),
            [one] => one.clone(),
            [most @ .., last] => format!("{} and {last}", most.join(", ")),
        };
        let [top, low] = &self.held;
        if top.is_empty() || low.is_empty() {
            return String::new();
        }
        format!("held by {} on top, {} below", names(top), names(low))
    }

    /// Each figure with its formula, its value and the source of the formula.
    pub(crate) fn working(&self, show: &QuantityFormat) -> Working {
        let mut working = Working::new();
        let n = self.touches;
        working.push(format!(
            "raw spread, which determines the cut = highest - lowest of {n} touches = {}",
            plain(show, self.spread)
        ));
        for (way, rise) in [("to the right", self.right), ("to the back", self.back)] {
            // Over the length in the shop's unit system.
            let (rise, over) = match show.system {
                UnitSystem::Mm => (rise[0], "100 mm"),
                UnitSystem::Inch => (rise[1], "12 in"),
            };
            working.push(format!(
                "tilt {way} = slope of the least-squares plane = {} in {over}",
                show.signed().near(rise)
            ));
        }
        if let Some((twist, exact)) = self.corners {
            let near = if exact {
                ""
            } else {
                ", by the points nearest the corners"
            };
            working.push(format!(
                "twist = front left - front right - back left + back right{near} = {}",
                show.signed().near(twist)
            ));
        } else {
            working.push("twist: unknown, because no four corners were touched");
        }
        if let Some(twist) = self.bilinear {
            working.push(format!(
                "twist of the fitted surface = k Lx Ly of c + a x + b y + k x y = {}",
                show.signed().near(twist)
            ));
        }
        working.push(format!(
            "flatness of the touched places, which describes the plate = smallest distance of two parallel planes, perpendicular to them (ISO 1101, from memory) = {}; along z {}",
            plain(show, self.flatness),
            plain(show, self.zone)
        ));
        let held = self.held_words();
        if !held.is_empty() {
            working.push(format!("  {held}"));
        }
        working.push(format!(
            "flatness by least squares = range about the plane, perpendicular to it = {}; along z {}",
            plain(show, self.least_squares_square),
            plain(show, self.least_squares)
        ));
        if n == 3 {
            working
                .push("three places are always on one plane: their flatness gives no information");
        }
        working
    }
}

#[cfg(test)]
mod tests {
    use super::Form;
    use crate::plate::placed_point::PlacedPoint;
    use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

    /// The nine touches of the worked example, in tenths of a thousandth of an inch, on 24 by 16 inches.
    pub(crate) fn nine() -> Vec<PlacedPoint> {
        let at = |point: &str, x: i64, y: i64, tenths: i64| {
            let inch = |n: i64| Length::from_counts(n * 254_000_000).unwrap();
            PlacedPoint {
                point: point.into(),
                x: inch(x),
                y: inch(y),
                height: Length::from_counts(tenths * 25_400).unwrap(),
            }
        };
        vec![
            at("SW", 0, 0, 45),
            at("S", 12, 0, 10),
            at("SE", 24, 0, -30),
            at("W", 0, 8, 30),
            at("C", 12, 8, -40),
            at("E", 24, 8, -25),
            at("NW", 0, 16, 20),
            at("N", 12, 16, 5),
            at("NE", 24, 16, -15),
        ]
    }

    // Source: worked example, computed by another program: spread 8.5, zone 5.5 (perpendicular 5.4999998), least
    // squares 5.5, twist 4.0, all thousandths of an inch.
    #[test]
    fn the_worked_example() {
        let form = Form::of(&nine()).unwrap();
        let thou = |l: Length| l.mm() / 0.0254;
        for (found, expected) in [
            (form.spread, 8.5),
            (form.least_squares, 5.5),
            (form.zone, 5.5),
            (form.flatness, 5.499_999_8),
            (form.corners.unwrap().0, 4.0),
        ] {
            assert!(
                (thou(found) - expected).abs() < 1e-5,
                "{} for {expected}",
                thou(found)
            );
        }
        assert!(form.corners.unwrap().1);
        let lines = form.working(&QuantityFormat::new(UnitSystem::Inch));
        let text = lines.lines().join("\n");
        assert!(
            text.contains(
                "raw spread, which determines the cut = highest - lowest of 9 touches = 0.0085 in"
            ),
            "{text}"
        );
        assert!(text.contains("on top, C below"), "{text}");
        // Over 12 in, and no digit finer than a ten-thousandth of an inch.
        assert!(text.contains("= 0.0055 in; along z 0.0055 in"), "{text}");
        assert!(
            text.contains("in in 12 in") && !text.contains("100 mm"),
            "{text}"
        );
        assert!(lines.lines().iter().all(|l| !l.contains('~')), "{text}");
    }
}
