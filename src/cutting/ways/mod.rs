//! Ways to remove the metal, compared: the fewest equal passes, and one more.
//!
//! Combines the plan of planes (`plate`) with the load of the cut on machine and cutter (`cutting`). Each figure stores
//! its formula, its inputs and its source, so that it can be explained. Unknown figures are left out and never guessed:
//! without a stick-out there is no deflection. Not part of a run's state; computed whenever it is shown.

mod compare;
mod figure;
mod setting;
mod tooth;
mod way;
mod worked;

pub(crate) use compare::{CutWays, compare};
pub(crate) use setting::CuttingConditions;
pub(crate) use way::CutWay;
