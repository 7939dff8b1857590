//! Planes through touched places: the minimum zone, exactly, with the touches that decide it.

pub mod zone;

pub use zone::{FitError, Holder, Site, Zone};
