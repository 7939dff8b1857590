//! The time that a program needs: a range computed with the machine's accelerations, and the plain length over feed.
//!
//! The range comes from half and twice the given accelerations. Not measured on any machine: jerk limits, overrides and
//! a control's own look-ahead are not included.

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
