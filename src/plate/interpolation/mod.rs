//! The surface between the touches: its likely height where nobody touched, and how reliable that is.
//!
//! Full grids are joined bilinearly and other positions by flat triangles, so the surface is never above the highest or
//! below the lowest touch. Its error is estimated by hiding each touch and guessing it from its neighbours. Smoother
//! surfaces were rejected: they were a few tenths better on smooth plates and no better on rough ones. Beyond the
//! outermost touches, tilt and twist are continued. Computations inside use floating point; results are rounded once,
//! to lengths and thousandths.

mod judge;
pub(crate) mod map;
mod mesh;
mod nearest;
pub(crate) mod neighbourhood;
mod next_touch;
pub(crate) mod probability;
mod surface_model;
mod thin_plate;
mod tilt;
pub(crate) mod touched_plate;
pub(crate) mod verdict;
pub(crate) mod z_setting;

pub use map::{Class, Map};
pub use neighbourhood::TouchNeighbourhood;
pub use probability::{HeightUncertainty, UncertaintyKind};
pub use touched_plate::{GuessError, PlateFacts, TouchedPlate, TouchedPlateError, UnplacedTouch};
pub use verdict::Verdict;
pub use z_setting::ZSetting;
