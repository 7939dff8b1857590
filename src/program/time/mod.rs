//! How long a program runs: with the machine's accelerations, as a range, and as plain length over feed beside it.
//!
//! The range is what half and twice the given accelerations make of it. Not measured on any machine: jerk limits,
//! overrides and a control's own look-ahead are not in it.

pub mod dynamics;
pub mod estimate;
mod kinematics;
pub mod planner;
pub mod watch;

#[cfg(test)]
mod planner_checks;
#[cfg(test)]
mod watch_checks;

pub use dynamics::Dynamics;
pub use estimate::Estimate;
pub use watch::TimeWatch;
