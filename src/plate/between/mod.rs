//! Between the touches: what the surface is likely to be where nobody touched, and how far to trust that.
//!
//! Full grids are joined bilinearly and other places by flat triangles, so nothing is invented above the highest or below
//! the lowest touch. How far that may be off is felt by hiding each touch and guessing it from its neighbours. Smoother
//! surfaces were decided against: a few tenths better on smooth plates, nothing on rough ones. Beyond the outermost touches
//! tilt and twist are continued.
//! Floating point lives inside; what is handed on is rounded once to lengths and shares.

pub mod around;
pub mod chance;
mod judge;
pub mod land;
pub mod map;
mod mesh;
mod near;
mod next;
mod shape;
mod thin;
mod tilt;
pub mod verdict;
pub mod z_setting;

pub use around::Around;
pub use chance::{Bound, Doubt};
pub use land::{Facts, Land, LandError, Miss, Unplaced};
pub use map::{Cell, Class, Map};
pub use verdict::{Sample, Verdict};
pub use z_setting::ZSetting;
