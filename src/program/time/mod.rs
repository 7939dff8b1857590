//! How long a program runs: with the machine's accelerations, as a range, and as plain length over feed beside it.
//!
//! The range is what half and twice the given accelerations make of it. Not measured on any machine: jerk limits,
//! overrides and a control's own look-ahead are not in it.

pub mod dynamics;
pub mod planner;
pub mod watch;

pub use dynamics::Dynamics;
pub use watch::{Estimate, TimeWatch};
