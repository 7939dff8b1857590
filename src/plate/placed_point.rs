//! Touched points whose positions on the plate are known.

use super::fit::Site;
use crate::quantity::Length;

/// A touched point with its position: x to the right and y away from the front, from the plate's front left corner.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct PlacedPoint {
    /// The point's name.
    pub point: String,
    /// Distance to the right.
    pub x: Length,
    /// Distance away from the front.
    pub y: Length,
    /// Its height.
    pub height: Length,
}

impl PlacedPoint {
    /// Its position and height in tenths of a nanometre.
    pub(crate) fn site(&self) -> Site {
        Site {
            x: self.x.counts(),
            y: self.y.counts(),
            z: self.height.counts(),
        }
    }
}
