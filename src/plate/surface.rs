//! The plate's surface at its named points: what a cut takes off at each.

use super::heights::{Heights, PointHeight};
use crate::quantity::Length;
use thiserror::Error;

/// Why a cut or touch is refused; the surface stays unchanged.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub(crate) enum SurfaceError {
    /// More would be taken off at a point than a length can be.
    #[error("the bite at {0} is beyond 100 m; is the unit right?")]
    TooFar(String),
}

/// What one cut takes off at a point.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Bite {
    /// The point's name.
    pub point: String,
    /// Its height before the cut.
    pub before: Length,
    /// Height minus plane; zero where the point is at or below the plane.
    pub taken: Length,
}

/// One cut at a plane, point by point in the order of the surface.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(crate) struct SurfaceCut {
    /// The height at which the tip travelled.
    pub plane: Length,
    /// What it took off at every point; zero where it took off nothing.
    pub bites: Vec<Bite>,
}

impl SurfaceCut {
    /// The largest bite; zero without points.
    pub(crate) fn largest(&self) -> Length {
        self.bites
            .iter()
            .map(|b| b.taken)
            .max()
            .unwrap_or(Length::ZERO)
    }

    /// The points with the largest bite; none where nothing is taken off.
    pub(crate) fn deepest_at(&self) -> Vec<&str> {
        let largest = self.largest();
        let there = self
            .bites
            .iter()
            .filter(|b| b.taken == largest && largest > Length::ZERO);
        there.map(|b| b.point.as_str()).collect()
    }

    /// Points at or below the plane: they stay unchanged.
    #[cfg(test)]
    pub(crate) fn untouched(&self) -> Vec<&str> {
        let there = self.bites.iter().filter(|b| b.taken == Length::ZERO);
        there.map(|b| b.point.as_str()).collect()
    }
}

#[derive(Clone, PartialEq, Eq, Hash, Debug)]
struct SurfacePoint {
    present: PointHeight,
    taken: Length,
}

/// Named points, with their present heights and what was taken off each.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Surface {
    places: Vec<SurfacePoint>,
}

impl Surface {
    /// A surface without points.
    pub(crate) fn new() -> Self {
        Self::default()
    }

    /// Takes over the heights of a series: new points are added, known ones get the new height.
    pub(crate) fn touch_all(&mut self, heights: &Heights) {
        for found in heights.points() {
            self.set(found.clone());
        }
    }

    /// Sets the present height of a point from a new touch; what was taken off before remains in the sum.
    pub(crate) fn touch(&mut self, point: &str, height: Length) {
        self.set(PointHeight {
            point: point.to_owned(),
            height,
            touches: 1,
        });
    }

    fn set(&mut self, present: PointHeight) {
        let known = self
            .places
            .iter_mut()
            .find(|p| p.present.point == present.point);
        match known {
            Some(place) => place.present = present,
            None => self.places.push(SurfacePoint {
                present,
                taken: Length::ZERO,
            }),
        }
    }

    /// What a cut at `plane` would take off; the surface stays unchanged.
    ///
    /// # Errors
    /// [`SurfaceError::TooFar`].
    pub(crate) fn bites(&self, plane: Length) -> Result<SurfaceCut, SurfaceError> {
        let bite = |place: &SurfacePoint| {
            let PointHeight { point, height, .. } = &place.present;
            let bite = height.minus(plane).map(|b| b.max(Length::ZERO));
            bite.map(|taken| Bite {
                point: point.clone(),
                before: *height,
                taken,
            })
            .ok_or_else(|| SurfaceError::TooFar(point.clone()))
        };
        let bites = self.places.iter().map(bite).collect::<Result<_, _>>()?;
        Ok(SurfaceCut { plane, bites })
    }

    /// Cuts at `plane`: every point above it gets its height.
    ///
    /// # Errors
    /// [`SurfaceError::TooFar`]; nothing is cut then.
    pub(crate) fn cut(&mut self, plane: Length) -> Result<SurfaceCut, SurfaceError> {
        let cut = self.bites(plane)?;
        let mut after = self.places.clone();
        for (place, bite) in after.iter_mut().zip(&cut.bites) {
            let too_far = || SurfaceError::TooFar(bite.point.clone());
            place.taken = place.taken.plus(bite.taken).ok_or_else(too_far)?;
            place.present.height = place.present.height.min(plane);
        }
        self.places = after;
        Ok(cut)
    }

    /// Present heights, in the order in which the points were first touched.
    pub(crate) fn heights(&self) -> Heights {
        Heights::new(self.places.iter().map(|p| p.present.clone()).collect())
    }

    /// The lowest point; of several equal ones the first.
    pub(crate) fn lowest(&self) -> Option<PointHeight> {
        self.heights().lowest().cloned()
    }

    /// The highest point; of several equal ones the first.
    pub(crate) fn highest(&self) -> Option<PointHeight> {
        self.heights().highest().cloned()
    }

    /// Highest minus lowest.
    pub(crate) fn spread(&self) -> Option<Length> {
        self.heights().spread()
    }

    /// The sum that all cuts took off a point since it was first touched; `None` for an unknown point.
    pub(crate) fn taken(&self, point: &str) -> Option<Length> {
        let place = self.places.iter().find(|p| p.present.point == point)?;
        Some(place.taken)
    }
}
