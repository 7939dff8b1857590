//! Ways of taking the metal off, side by side: the fewest equal passes, and one more.
//!
//! Joins the plan of planes (`plate`) with what the cut asks of machine and cutter (`cutting`). Each figure keeps its
//! formula, what went in and where the formula is from, so that it can be asked why. What is not known is left out and
//! never guessed: without a stick-out there is no bending. Not part of a run's state; worked out whenever it is shown.

mod compare;
mod figure;
mod setting;
mod tooth;
mod way;
mod worked;

pub use compare::{CutWays, compare};
pub use setting::CuttingConditions;
pub use way::CutWay;
pub use worked::WorkedFigure;
