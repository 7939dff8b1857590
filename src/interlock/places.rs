//! The places of the touched points on the plate, and the surface of the plate before anything was cut.
//!
//! Skin is the part of the old surface that a cut leaves, so it is judged by the heights of that surface: a point that
//! was cut since keeps the height at which it was touched. Nothing here decides anything; depths come from heights
//! alone.

use super::answer::Answer;
use super::instance::Instance;
use super::state::State;
use crate::plate::{
    HeightUncertainty, PlacedPoint, PlateFacts, TouchedPlate, TouchedPlateError, UncertaintyKind,
    UnplacedTouch, ZSetting,
};
use crate::procedure::model::Touch;
use crate::procedure::{Kind, ShopList};
use crate::quantity::Length;

/// The number of places that a surface needs at least.
const FEWEST: usize = 3;

impl State {
    fn touch_steps(&self) -> impl Iterator<Item = (&str, &Touch)> {
        self.procedure.steps().filter_map(|s| {
            let Kind::Touch(touch) = &s.kind else {
                return None;
            };
            Some((s.id.as_str(), touch.as_ref()))
        })
    }

    /// The plate's length to the right and its width away from the front; `None` where the shop file has no size.
    pub(crate) fn plate_size(&self) -> Option<[Length; 2]> {
        let plate = self.chosen(ShopList::Plates)?;
        Some([plate.length("x_length")?, plate.length("y_width")?])
    }

    /// The place of a point: as typed with its reading, else as in the procedure.
    pub(crate) fn place_of(&self, point: &str) -> Option<[Length; 2]> {
        if let Some(at) = self.placed.get(point) {
            return Some(*at);
        }
        let said = self
            .touch_steps()
            .find_map(|(_, t)| t.places.iter().find(|(p, _)| p == point))?;
        let [x, y] = said.1;
        let size = self.plate_size()?;
        Some([x.on(size[0])?, y.on(size[1])?])
    }

    /// Touched points that have a place, at the heights of the old surface.
    pub(crate) fn spots(&self) -> Vec<PlacedPoint> {
        let spot = |(point, height): (String, Length)| {
            let [x, y] = self.place_of(&point)?;
            Some(PlacedPoint {
                point,
                x,
                y,
                height,
            })
        };
        let before = self.marks.before_cuts();
        before.into_iter().filter_map(spot).collect()
    }

    /// Touched points without a place, at the heights of the old surface.
    fn unplaced(&self) -> Vec<UnplacedTouch> {
        let before = self.marks.before_cuts().into_iter();
        before
            .filter(|(point, _)| self.place_of(point).is_none())
            .map(|(point, height)| UnplacedTouch { point, height })
            .collect()
    }

    /// The uncertainty of touches, as a hard limit that the touch step gives, if it gives one, together with what
    /// setting Z adds on the chosen machine.
    pub(crate) fn touch_doubt(&self) -> HeightUncertainty {
        let said = self.touch_steps().find_map(|(id, touch)| {
            let at = Instance::new(id, None);
            let value = self.env(&at).quantity(touch.doubt.as_ref()?).ok()?;
            let drift = match self.answer(&at) {
                Some(Answer::Touched(touched)) => touched.drift,
                _ => None,
            };
            Some((Length::nearest(value)?, drift))
        });
        let (jog, drift) = said.unwrap_or_default();
        let mill = self.chosen(ShopList::Machines);
        let setting = ZSetting {
            jog,
            readout: mill
                .and_then(|m| m.length("readout_step"))
                .unwrap_or_default(),
            drift,
            offsets: mill.and_then(|m| m.word("length_offsets")) == Some("used"),
        };
        HeightUncertainty {
            touch: UncertaintyKind::Limits(jog),
            shared: UncertaintyKind::ZSetting(setting),
        }
    }

    /// The touched plate; `None` where too few points have a place.
    ///
    /// # Errors
    /// A [`TouchedPlateError`] where the places define no surface or are off the plate.
    pub(crate) fn land(&self) -> Option<Result<TouchedPlate, TouchedPlateError>> {
        let spots = self.spots();
        let fact = |list: ShopList, name: &str| self.chosen(list)?.length(name);
        let facts = || PlateFacts {
            size: self.plate_size(),
            doubt: self.touch_doubt(),
            waviness: fact(ShopList::Plates, "waviness"),
            cutter: fact(ShopList::Cutters, "diameter"),
            unplaced: self.unplaced(),
        };
        (spots.len() >= FEWEST).then(|| TouchedPlate::of(&spots, facts()))
    }
}
