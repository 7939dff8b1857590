//! Which part of the plate the cutter's flat does not reach.
//!
//! The flat, a disc, is swept along every cut at depth. What it covers of closely spaced lines over the plate, rows and
//! columns both, is worked out exactly, as intervals; what is left uncovered is measured and put together into patches.
//! Rows alone are blind to a ridge thinner than their pitch that runs along them, columns see it, and the other way
//! round: a patch longer than the pitch in X or in Y is always seen.
//!
//! Against outlines put together by a polygon library: those take memory and time that grow faster than the path, and
//! stumble where it crosses itself. Against a raster of dots: it errs by the pitch along every edge.

pub mod lines;
pub mod passes;
pub mod rectangle;
pub mod simplify;
pub mod tracker;
pub mod uncovered;
pub mod watch;

#[cfg(test)]
mod checks;

pub use rectangle::{PlatePart, Side};
pub use tracker::{Coverage, CoverageTask, CoverageTracker};
pub use watch::{CoverWatch, CoverageGaps};
