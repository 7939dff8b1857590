//! The part of the plate that the cutter's flat does not cover.
//!
//! The flat, a disc, is swept along every cut at depth. For closely spaced lines over the plate, in rows and in
//! columns, the covered intervals are computed exactly; the uncovered rest is measured and joined into patches. Rows
//! alone cannot find a ridge along them that is thinner than their pitch, but columns do, and the reverse: a patch
//! longer than the pitch in X or in Y is always found.
//!
//! Why not outlines from a polygon library: their memory and time grow faster than the path, and they fail where the
//! path crosses itself. Why not a raster of dots: its error is the pitch along every edge.

pub(crate) mod lines;
pub(crate) mod passes;
pub(crate) mod rectangle;
pub(crate) mod simplify;
pub(crate) mod tracker;
pub(crate) mod uncovered;
pub(crate) mod watch;

#[cfg(test)]
mod checks;

pub(crate) use rectangle::PlatePart;
pub(crate) use tracker::{Coverage, CoverageTask};
pub(crate) use watch::{CoverWatch, CoverageGaps};
