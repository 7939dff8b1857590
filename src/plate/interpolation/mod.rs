//! Between the touches: what the surface is likely to be where nobody touched, and how far to trust that.
//!
//! Full grids are joined bilinearly and other places by flat triangles, so nothing is invented above the highest or below
//! the lowest touch. How far that may be off is felt by hiding each touch and guessing it from its neighbours. Smoother
//! surfaces were decided against: a few tenths better on smooth plates, nothing on rough ones. Beyond the outermost touches
//! tilt and twist are continued.
//! Floating point lives inside; what is handed on is rounded once to lengths and shares.

mod judge;
pub mod map;
mod mesh;
mod nearest;
pub mod neighbourhood;
mod next_touch;
pub mod probability;
mod surface_model;
mod thin_plate;
mod tilt;
pub mod touched_plate;
pub mod verdict;
pub mod z_setting;

pub use map::{Cell, Class, Map};
pub use neighbourhood::TouchNeighbourhood;
pub use probability::{HeightUncertainty, UncertaintyKind};
pub use touched_plate::{GuessError, PlateFacts, TouchedPlate, TouchedPlateError, UnplacedTouch};
pub use verdict::{Sample, Verdict};
pub use z_setting::ZSetting;
