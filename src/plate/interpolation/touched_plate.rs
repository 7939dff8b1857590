//! The touched plate as a whole: positions, outline, uncertainties, and the guess errors of hidden touches, which
//! describe the space between touches.

use super::nearest::NearestTouch;
use super::probability::HeightUncertainty;
use super::surface_model::SurfaceModel;
use super::tilt::Tilt;
use crate::plate::fit::{FitError, lsq};
use crate::plate::placed_point::PlacedPoint;
use crate::quantity::Length;
use thiserror::Error;

/// Above this number only some of the touches are hidden, evenly chosen, so that the computation does not take minutes.
const MOST_HIDDEN: usize = 300;
/// Waviness of an old plate's surface between touches where the shop file gives none: 0.03 mm (common practice, no
/// source).
const WAVINESS: i64 = 300_000;

/// Why the surface between the touches cannot be computed.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum TouchedPlateError {
    /// The positions determine no surface.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// A position is off the plate.
    #[error("{0} is off the plate; are its position and the plate's size right?")]
    OffPlate(String),
    /// A figure is larger than a length can be.
    #[error("a figure is beyond 100 m; is a unit wrong?")]
    TooFar,
}

/// The error of guessing one touch from its neighbours.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GuessError {
    /// The name of the touch.
    pub point: String,
    /// Its height minus the guess.
    pub off: Length,
}

/// A touch without a position: it counts for the depth and appears on no map.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct UnplacedTouch {
    /// The name of the touch.
    pub point: String,
    /// Its height.
    pub height: Length,
}

/// Facts about the plate in addition to the touches that have positions.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PlateFacts {
    /// The size of the plate from its front left corner; where it is unknown, the box around the positions is used.
    pub size: Option<[Length; 2]>,
    /// The uncertainty of the heights.
    pub doubt: HeightUncertainty,
    /// Waviness of the old surface, highest to lowest within 100 mm; 0.03 mm where nobody gives it.
    pub waviness: Option<Length>,
    /// The diameter of the cutter that touched.
    pub cutter: Option<Length>,
    /// Touches without a position.
    pub unplaced: Vec<UnplacedTouch>,
}

impl PlateFacts {
    /// Facts of which only the uncertainty is known.
    pub fn with_uncertainty(doubt: HeightUncertainty) -> Self {
        Self {
            size: None,
            doubt,
            waviness: None,
            cutter: None,
            unplaced: Vec::new(),
        }
    }
}

/// A touched plate.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TouchedPlate {
    /// The touches; those at the same position are combined into one.
    pub spots: Vec<PlacedPoint>,
    /// The front left corner.
    pub low: [Length; 2],
    /// The back right corner.
    pub high: [Length; 2],
    /// The uncertainty of the heights.
    pub doubt: HeightUncertainty,
    /// Waviness of the old surface, highest to lowest within 100 mm.
    pub waviness: Length,
    /// Whether the waviness is the typical value, because nobody gave one.
    pub waviness_assumed: bool,
    /// The diameter of the cutter that touched.
    pub cutter: Option<Length>,
    /// Height difference between the metal touched by the rim and the surface under the cutter's middle: radius times
    /// slope.
    pub lean: Length,
    /// Touches without a position.
    pub unplaced: Vec<UnplacedTouch>,
    /// The guess error of every touch that its neighbours surround.
    pub misses: Vec<GuessError>,
    /// Root mean square of the guess errors; `None` where no touch could be hidden, so that nothing is known between
    /// the touches.
    pub typical: Option<Length>,
    /// Typical distance from a touch to the nearest other touch.
    pub spacing: Length,
    /// Scatter of the heights about their plane.
    pub scatter: Length,
}

#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)] // the one rounding at the edge
pub(super) fn length(mm: f64) -> Result<Length, TouchedPlateError> {
    let counts = mm * Length::COUNTS_PER_MM as f64;
    let inside = counts.is_finite() && counts.abs() <= Length::LIMIT as f64;
    let length = inside.then(|| Length::from_counts(counts.round() as i64));
    length.flatten().ok_or(TouchedPlateError::TooFar)
}

impl TouchedPlate {
    /// Builds the plate from touches with positions and from other facts.
    ///
    /// # Errors
    /// Where the positions determine no surface or are off the plate.
    pub fn of(spots: &[PlacedPoint], facts: PlateFacts) -> Result<Self, TouchedPlateError> {
        let PlateFacts {
            size,
            doubt,
            waviness,
            cutter,
            unplaced,
        } = facts;
        let spots = together(spots)?;
        let ends = |of: fn(&PlacedPoint) -> Length| {
            let all = || spots.iter().map(of);
            (
                all().min().unwrap_or_default(),
                all().max().unwrap_or_default(),
            )
        };
        let ((x0, x1), (y0, y1)) = (ends(|s| s.x), ends(|s| s.y));
        let (low, high) = match size {
            Some(size) => ([Length::ZERO; 2], size),
            None => ([x0, y0], [x1, y1]),
        };
        let off = |s: &&PlacedPoint| s.x < low[0] || s.y < low[1] || s.x > high[0] || s.y > high[1];
        if let Some(spot) = spots.iter().find(off) {
            return Err(TouchedPlateError::OffPlate(spot.point.clone()));
        }
        let sites: Vec<_> = spots.iter().map(PlacedPoint::site).collect();
        let plane = lsq::plane(&sites)?;
        // The three parameters of the plane were themselves estimated from the touches.
        let free = u32::try_from(spots.len().saturating_sub(3)).unwrap_or(u32::MAX);
        let mean = plane.squares / f64::from(free.max(1));
        #[allow(clippy::cast_precision_loss)]
        let scatter = length(mean.sqrt() / Length::COUNTS_PER_MM as f64)?;
        let places = places(&spots);
        let misses = misses(&spots, &places)?;
        let typical = root_mean_square(&misses).map(length).transpose()?;
        let spacing = length(spacing(&places))?;
        let radius = cutter.unwrap_or_default().mm() / 2.0;
        let steepest = Tilt::of(&places).steepest(low.map(Length::mm), high.map(Length::mm));
        let usual = Length::from_counts(WAVINESS).unwrap_or_default();
        Ok(Self {
            spots,
            low,
            high,
            doubt,
            waviness: waviness.unwrap_or(usual),
            waviness_assumed: waviness.is_none(),
            cutter,
            lean: length(radius * steepest)?,
            unplaced,
            misses,
            typical,
            spacing,
            scatter,
        })
    }

    /// The largest guess error.
    pub(crate) fn worst_miss(&self) -> Option<&GuessError> {
        self.misses.iter().max_by_key(|m| m.off.abs())
    }

    /// Every touch, with or without a position.
    pub(crate) fn touches(&self) -> impl Iterator<Item = (&str, Length)> {
        let placed = self.spots.iter().map(|s| (s.point.as_str(), s.height));
        placed.chain(self.unplaced.iter().map(|u| (u.point.as_str(), u.height)))
    }

    /// The lowest touch; of several equal ones the first.
    pub(crate) fn lowest(&self) -> Option<(&str, Length)> {
        self.touches().min_by_key(|t| t.1)
    }

    /// Size to the right and away from the front, in mm.
    pub(crate) fn size(&self) -> [f64; 2] {
        [0, 1].map(|k| self.high[k].mm() - self.low[k].mm())
    }

    pub(super) fn places(&self) -> Vec<[f64; 3]> {
        places(&self.spots)
    }
}

pub(super) fn places(spots: &[PlacedPoint]) -> Vec<[f64; 3]> {
    let place = |s: &PlacedPoint| [s.x.mm(), s.y.mm(), s.height.mm()];
    spots.iter().map(place).collect()
}

/// Combines touches at the same position into one with their mean height, because a surface has one height at each
/// position.
fn together(spots: &[PlacedPoint]) -> Result<Vec<PlacedPoint>, TouchedPlateError> {
    let mut order: Vec<usize> = (0..spots.len()).collect();
    let at = |i: &usize| spots.get(*i).map(|s| (s.x, s.y));
    order.sort_by_key(|i| (at(i), *i));
    let mut found: Vec<(usize, PlacedPoint)> = Vec::new();
    for group in order.chunk_by(|a, b| at(a) == at(b)) {
        let here: Vec<&PlacedPoint> = group.iter().filter_map(|i| spots.get(*i)).collect();
        let (Some(first), Some(spot)) = (group.first(), here.first()) else {
            continue;
        };
        let sum: i128 = here.iter().map(|s| i128::from(s.height.counts())).sum();
        let count = i128::try_from(here.len()).unwrap_or(1);
        let mean = i64::try_from(sum / count)
            .ok()
            .and_then(Length::from_counts);
        let height = mean.ok_or(TouchedPlateError::TooFar)?;
        found.push((
            *first,
            PlacedPoint {
                height,
                ..(*spot).clone()
            },
        ));
    }
    found.sort_by_key(|f| f.0);
    Ok(found.into_iter().map(|f| f.1).collect())
}

/// The median distance to the nearest other touch.
fn spacing(places: &[[f64; 3]]) -> f64 {
    let away = |p: &[f64; 3], i: usize| {
        let others = places.iter().enumerate().filter(|(k, _)| *k != i);
        others
            .map(|(_, q)| (p[0] - q[0]).hypot(p[1] - q[1]))
            .fold(f64::INFINITY, f64::min)
    };
    let every = places.len().div_ceil(MOST_HIDDEN).max(1);
    let mut all: Vec<f64> = places
        .iter()
        .enumerate()
        .step_by(every)
        .map(|(i, p)| away(p, i))
        .collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2)
        .copied()
        .filter(|d| d.is_finite())
        .unwrap_or(0.0)
}

/// The error of each touch against the guess from its neighbours.
fn misses(
    spots: &[PlacedPoint],
    places: &[[f64; 3]],
) -> Result<Vec<GuessError>, TouchedPlateError> {
    let every = places.len().div_ceil(MOST_HIDDEN).max(1);
    let grid = matches!(SurfaceModel::of(places), Some(SurfaceModel::Grid { .. }));
    let mut found = Vec::new();
    for (i, spot) in spots.iter().enumerate().step_by(every) {
        let guess = if grid {
            guess_from_neighbours(places, i)
        } else {
            hidden(places, i)
        };
        if let (Some(guess), Some(place)) = (guess, places.get(i)) {
            found.push(GuessError {
                point: spot.point.clone(),
                off: length(place[2] - guess)?,
            });
        }
    }
    Ok(found)
}

/// A touch of a grid, guessed along its row and its column; the mean of the two where both have neighbours.
fn guess_from_neighbours(places: &[[f64; 3]], i: usize) -> Option<f64> {
    let own = places.get(i)?;
    let along = |k: usize| {
        let line = || {
            places
                .iter()
                .filter(move |p| p[1 - k].total_cmp(&own[1 - k]).is_eq())
        };
        let before = line()
            .filter(|p| p[k] < own[k])
            .max_by(|a, b| a[k].total_cmp(&b[k]))?;
        let after = line()
            .filter(|p| p[k] > own[k])
            .min_by(|a, b| a[k].total_cmp(&b[k]))?;
        Some(before[2] + (own[k] - before[k]) / (after[k] - before[k]) * (after[2] - before[2]))
    };
    match (along(0), along(1)) {
        (Some(a), Some(b)) => Some(f64::midpoint(a, b)),
        (a, b) => a.or(b),
    }
}

/// A touch, guessed from the surface through all others, where they surround it.
fn hidden(places: &[[f64; 3]], i: usize) -> Option<f64> {
    let own = places.get(i)?;
    let others: Vec<[f64; 3]> = places
        .iter()
        .enumerate()
        .filter(|(k, _)| *k != i)
        .map(|(_, p)| *p)
        .collect();
    SurfaceModel::of(&others)?.within(own[0], own[1])
}

fn root_mean_square(misses: &[GuessError]) -> Option<f64> {
    let squares = misses.iter().map(|m| m.off.mm().powi(2)).sum::<f64>();
    let count = u32::try_from(misses.len()).ok().filter(|n| *n > 0)?;
    Some((squares / f64::from(count)).sqrt())
}

impl TouchedPlate {
    /// Height and distance to the nearest touch at every grid position, row by row from the front.
    pub(super) fn seen(
        &self,
        xs: &[f64],
        ys: &[f64],
    ) -> Result<Vec<(f64, f64)>, TouchedPlateError> {
        let places = self.places();
        let shape = SurfaceModel::of(&places).ok_or(FitError::OnOneLine)?;
        let near = NearestTouch::new(&places);
        let heights = shape.over(xs, ys, &Tilt::of(&places));
        Ok(heights.into_iter().zip(near.over(xs, ys)).collect())
    }
}
