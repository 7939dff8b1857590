//! The time that a program needs: a range computed with the machine's accelerations, and the plain length over feed.
//!
//! The range comes from half and twice the given accelerations. Not measured on any machine: jerk limits, overrides and
//! a control's own look-ahead are not included.

pub(crate) mod dynamics;
pub(crate) mod estimate;
mod kinematics;
pub(crate) mod planner;
pub(crate) mod watch;

#[cfg(test)]
mod planner_checks;
#[cfg(test)]
mod watch_checks;

pub use dynamics::Dynamics;
pub use estimate::Estimate;
pub(crate) use watch::TimeWatch;
