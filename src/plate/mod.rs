//! Touching off and planes: heights of points, what a cut takes off at each, and the passes down to a plane.
//!
//! Invariants: heights are exact lengths above the first touch of the run, positive is up; nothing is rounded except
//! where the text says so, and then once, to the length grid or the step of the readout. State holds only readings and
//! results; the working shown to a person is written from them on demand, in either unit system.

pub mod crosscheck;
pub mod entry;
pub mod fit;
pub mod form;
pub mod heights;
pub mod interpolation;
pub mod limits;
pub mod passes;
mod passes_working;
pub mod placed_point;
pub mod reading;
pub mod skims;
pub mod surface;
pub mod touch;
pub mod touch_error;
pub mod working;

#[cfg(test)]
mod properties;
#[cfg(test)]
mod two_columns;
#[cfg(test)]
mod worked_example;

pub use crosscheck::{Mismatch, SuspectedSlip};
pub use entry::Entry;
pub use form::Form;
pub use heights::{Heights, PointHeight};
pub use interpolation::{
    Class, GuessError, HeightUncertainty, Map, PlateFacts, TouchNeighbourhood, TouchedPlate,
    TouchedPlateError, UncertaintyKind, UnplacedTouch, Verdict, ZSetting,
};
pub use limits::{Limits, PlanError};
pub use passes::{Pass, Plan};
pub use placed_point::PlacedPoint;
pub use reading::{Advice, Frame, Reading, Touch, ZeroMode};
pub use skims::{SkimLimit, SkimsLeft};
pub use surface::{Bite, Surface, SurfaceCut, SurfaceError};
pub use touch::Series;
pub use touch_error::TouchError;
pub use working::Working;
