//! Planes through touched positions: least squares, the minimum zone with the touches that determine it, tilt and
//! twist.

pub(crate) mod lsq;
mod point_columns;
#[cfg(test)]
mod reference;
pub(crate) mod square;
pub(crate) mod twist;
mod wide_integers;
pub mod zone;

pub use zone::{DecidingPoint, FitError, Site, Zone};
