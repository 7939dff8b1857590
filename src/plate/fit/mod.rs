//! Planes through touched positions: least squares, the minimum zone with the touches that determine it, tilt and
//! twist.

pub mod lsq;
mod point_columns;
#[cfg(test)]
mod reference;
pub mod square;
pub mod twist;
mod wide_integers;
pub mod zone;

pub use lsq::LeastSquares;
pub use square::Square;
pub use zone::{DecidingPoint, FitError, Site, Zone};
