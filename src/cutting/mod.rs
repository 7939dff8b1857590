//! Cutting: speeds, feeds, loads, the surface that a tilted spindle or a warm plate leaves, and the length of a raster.
//!
//! Invariants: functions take and return quantities, so that no two units can be confused. Sums, products and quotients
//! are exact; roots and arcs pass through floating point once and are rounded to fifteen digits (`rounding`). Nothing
//! here is stored.

pub mod approach;
pub mod deflection;
pub mod heat;
pub mod load;
pub mod raster;
mod rounding;
pub mod speeds;
pub mod thinning;
pub mod touch_uncertainty;
pub mod tram;
pub(crate) mod ways;
