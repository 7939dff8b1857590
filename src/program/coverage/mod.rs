//! Which part of the plate the cutter's flat does not reach.
//!
//! The flat, a disc, is swept along every cut at depth. What it covers of closely spaced lines over the plate, rows and
//! columns both, is worked out exactly, as intervals; what is left uncovered is measured and put together into patches.
//! Rows alone are blind to a ridge thinner than their pitch that runs along them, columns see it, and the other way
//! round: a patch longer than the pitch in X or in Y is always seen.
//!
//! Against outlines put together by a polygon library: those take memory and time that grow faster than the path, and
//! stumble where it crosses itself. Against a raster of dots: it errs by the pitch along every edge.

pub mod cover;
pub mod frame;
pub mod lines;
pub mod missed;
pub mod passes;
pub mod simplify;
pub mod watch;

#[cfg(test)]
mod checks;

pub use cover::{Cover, Covered, Task};
pub use frame::{Side, Where};
pub use watch::{CoverWatch, Doubts};
