//! The limits of a plan of passes, and the reasons why there may be no plan.

use crate::quantity::Length;
use thiserror::Error;

/// More passes than this are treated as a slip of unit.
pub(crate) const MOST_PASSES: i128 = 1000;

/// The limits of a plan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Limits {
    /// The most that one pass may take off; above zero.
    pub max_bite: Length,
    /// What the last pass takes off, after roughing; `None` for no finishing pass.
    pub finish: Option<Length>,
    /// The step of the readout: planes are whole multiples of it; `None` for the length grid itself.
    pub step: Option<Length>,
}

/// Why there is no plan.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum PlanError {
    /// The largest bite is zero or less.
    #[error(
        "the largest bite of a pass must be above 0; give the depth that cutter and machine can take"
    )]
    NoBite,
    /// The finishing allowance is zero or less.
    #[error("the finishing allowance must be above 0; leave it out for no finishing pass")]
    NoFinish,
    /// The finishing allowance is more than one pass may take.
    #[error("the finishing allowance is more than the largest bite of a pass; make it smaller")]
    FinishTooDeep,
    /// The step of the readout is zero or less.
    #[error("the readout's step must be above 0; leave it out if planes need not fall on it")]
    NoStep,
    /// The step of the readout is more than one pass may take.
    #[error(
        "the readout's step is more than the largest bite of a pass; planes cannot be set that finely"
    )]
    StepTooCoarse,
    /// The plan would need too many passes.
    #[error(
        "{0} passes would be needed, more than {MOST_PASSES}; is a unit wrong, or the largest bite too small?"
    )]
    TooMany(i128),
    /// A plane is further than a length can be.
    #[error("a plane is beyond 100 m; is the unit right?")]
    TooFar,
}

impl Limits {
    /// Checks the limits; gives the first one that makes every plan impossible.
    pub(super) fn check(self) -> Result<(), PlanError> {
        let Limits {
            max_bite,
            finish,
            step,
        } = self;
        let not_above = |l: Option<Length>| l.is_some_and(|l| l <= Length::ZERO);
        let above_bite = |l: Option<Length>| l.is_some_and(|l| l > max_bite);
        let faults = [
            (max_bite <= Length::ZERO, PlanError::NoBite),
            (not_above(finish), PlanError::NoFinish),
            (above_bite(finish), PlanError::FinishTooDeep),
            (not_above(step), PlanError::NoStep),
            (above_bite(step), PlanError::StepTooCoarse),
        ];
        let fault = faults.into_iter().find(|(faulty, _)| *faulty);
        fault.map_or(Ok(()), |(_, error)| Err(error))
    }
}
