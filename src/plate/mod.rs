//! Touching off and planes: heights of points, what a cut takes off at each, and the passes down to a plane.
//!
//! Invariants: heights are exact lengths above the first touch of the run, positive is up; nothing is rounded except
//! where the text says so, and then once, to the length grid or the step of the readout. State holds only readings and
//! results; the working shown to a person is written from them on demand, in either unit system.

pub(crate) mod crosscheck;
pub(crate) mod entry;
pub mod fit;
pub(crate) mod form;
pub(crate) mod heights;
pub(crate) mod interpolation;
pub(crate) mod limits;
pub(crate) mod passes;
mod passes_working;
pub(crate) mod placed_point;
pub(crate) mod reading;
pub(crate) mod skims;
pub(crate) mod surface;
pub(crate) mod touch;
pub(crate) mod touch_error;
pub(crate) mod working;

#[cfg(test)]
mod properties;
#[cfg(test)]
mod two_columns;
#[cfg(test)]
mod worked_example;

pub(crate) use entry::Entry;
pub(crate) use form::Form;
pub(crate) use heights::{Heights, PointHeight};
pub use interpolation::{
    Class, GuessError, HeightUncertainty, Map, PlateFacts, TouchNeighbourhood, TouchedPlate,
    TouchedPlateError, UncertaintyKind, UnplacedTouch, Verdict, ZSetting,
};
pub use limits::{Limits, PlanError};
pub use passes::{Pass, Plan};
pub use placed_point::PlacedPoint;
pub use reading::{Advice, Frame, Reading, Touch, ZeroMode};
pub(crate) use skims::{SkimLimit, SkimsLeft};
pub(crate) use surface::{Surface, SurfaceCut};
pub use touch::Series;
pub(crate) use touch_error::TouchError;
pub(crate) use working::Working;
