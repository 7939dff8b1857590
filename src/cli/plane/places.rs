//! Places of points on the plate, and what the touches say once they are known.

use super::args::{PlaneRequest, length};
use crate::cli::failure::Failure;
use crate::plate::{
    Form, HeightUncertainty, Heights, PlacedPoint, PlateFacts, TouchedPlate, UnplacedTouch, Verdict,
};
use crate::quantity::{Length, UnitSystem};

/// Where points lie, in the order they were given.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct PointPlaces(Vec<(String, [Length; 2])>);

impl PointPlaces {
    /// Sets a point's place; the same again is no fault.
    pub(super) fn set(&mut self, point: &str, at: [Length; 2], place: &str) -> Result<(), Failure> {
        match self.of(point) {
            Some(known) if known != at => {
                let what =
                    format!("{point} was put at another place before; give each point one place");
                Err(Failure::at(place, what))
            }
            Some(_) => Ok(()),
            None => {
                self.0.push((point.to_owned(), at));
                Ok(())
            }
        }
    }

    fn of(&self, point: &str) -> Option<[Length; 2]> {
        self.0.iter().find(|p| p.0 == point).map(|p| p.1)
    }
}

/// Two lengths with a comma between.
pub(super) fn pair(
    text: &str,
    unit: Option<UnitSystem>,
    place: &str,
) -> Result<[Length; 2], Failure> {
    let Some((x, y)) = text.split_once(',').filter(|(_, y)| !y.contains(',')) else {
        let what =
            format!("`{text}` is no pair; write two lengths with a comma between, such as 10,20");
        return Err(Failure::at(place, what));
    };
    Ok([
        length(x.trim(), unit, place)?,
        length(y.trim(), unit, place)?,
    ])
}

/// `P1=10,20`.
pub(super) fn from_flag(
    text: &str,
    unit: Option<UnitSystem>,
    places: &mut PointPlaces,
) -> Result<(), Failure> {
    let place = format!("--at {text}");
    let Some((point, at)) = text.split_once('=') else {
        return Err(Failure::at(
            place,
            "no point and place; write --at P1=10,20",
        ));
    };
    places.set(point.trim(), pair(at, unit, &place)?, &place)
}

/// What the touches say of the plate.
#[derive(Debug)]
pub(crate) struct MapAndVerdict {
    /// The touches that have places, each as it was touched.
    pub spots: Vec<PlacedPoint>,
    /// Tilt, twist, flatness.
    pub form: Form,
    /// The touched plate.
    pub land: TouchedPlate,
    /// What the plane does.
    pub verdict: Verdict,
    /// The cutter's diameter.
    pub cutter: Option<Length>,
}

/// The plate, where points have places, or why nothing can be said of it; `None` where no point has one. A person is
/// told which points are left out.
pub(super) fn shown(
    asked: &PlaneRequest,
    heights: &Heights,
    clean: Length,
    doubt: HeightUncertainty,
    cautions: &mut Vec<String>,
) -> Result<Option<MapAndVerdict>, Failure> {
    if asked.places.0.is_empty() {
        return Ok(None);
    }
    if let Some((point, _)) = asked.places.0.iter().find(|(p, _)| heights.of(p).is_none()) {
        return Err(Failure::at(
            "--at",
            format!("{point} was not touched; is its name right?"),
        ));
    }
    let (mut spots, mut unplaced) = (Vec::new(), Vec::new());
    for p in heights.points() {
        match asked.places.of(&p.point) {
            Some([x, y]) => spots.push(PlacedPoint {
                point: p.point.clone(),
                x,
                y,
                height: p.height,
            }),
            None => unplaced.push(UnplacedTouch {
                point: p.point.clone(),
                height: p.height,
            }),
        }
    }
    let found = Form::of(&spots)
        .map_err(|e| e.to_string())
        .and_then(|form| {
            let facts = PlateFacts {
                size: asked.land.size,
                doubt,
                waviness: asked.land.waviness,
                cutter: asked.land.cutter,
                unplaced,
            };
            let land = TouchedPlate::of(&spots, facts).map_err(|e| e.to_string())?;
            let verdict = land
                .verdict(asked.land.plane.unwrap_or(clean))
                .map_err(|e| e.to_string())?;
            Ok(MapAndVerdict {
                spots: spots.clone(),
                form,
                land,
                verdict,
                cutter: asked.land.cutter,
            })
        });
    match found {
        Ok(shown) => {
            if asked.land.assumed {
                cautions.push(format!(
                    "that a touch is off by no more than {} is assumed (common practice, no source); --touch-within says otherwise",
                    super::args::TOUCH_WITHIN
                ));
            }
            Ok(Some(shown))
        }
        Err(why) => {
            cautions.push(format!("nothing is said of form and map: {why}"));
            Ok(None)
        }
    }
}
