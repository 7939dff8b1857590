//! Cutting: speeds, feeds, loads and the length of a raster, as exact arithmetic over quantities.

pub mod raster;
pub mod speeds;
