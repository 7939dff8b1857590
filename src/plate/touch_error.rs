//! Why a reading is not taken.

use super::crosscheck::Mismatch;
use super::touch::MOST_TOUCHES;
use super::working::result;
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};
use std::fmt;

/// Why a reading is not taken; the series stays as it was.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum TouchError {
    /// A point without a name.
    NoName,
    /// The readout reading is missing.
    NoReadout(String),
    /// The machine reading is missing.
    NoMachine(String),
    /// The first touch does not read nought.
    FirstNotZero(String, Length),
    /// The columns' noughts are known only in the column that was not read.
    Unplaced(String),
    /// Zeroing at this point was advised and not yet answered.
    ZeroPending(String),
    /// No zeroing was advised.
    NoZeroAdvised,
    /// The two columns disagree at this point.
    Mismatch(String, Mismatch),
    /// A height beyond what a length holds.
    TooFar(String),
    /// Too many touches.
    TooMany,
    /// A closing touch before the first one.
    NothingToClose,
    /// No reading to take back.
    NothingToFix,
    /// The last reading was zeroed on, so that taking it back would not bring the readout's nought back.
    AlreadyZeroed(String),
}

impl TouchError {
    /// What is wrong and what to do, with lengths as `show` shows them.
    pub fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::NoName => "a point without a name; name it, such as P1".into(),
            Self::NoReadout(p) => format!("no readout reading at {p}; read the work readout"),
            Self::NoMachine(p) => format!("no machine reading at {p}; read machine Z"),
            Self::FirstNotZero(p, r) => format!(
                "the readout reads {} at the first touch, {p}; zero it there so that it reads 0",
                result(show, *r)
            ),
            Self::Unplaced(p) => format!(
                "the height of {p} cannot be told from this column alone; read the other column too"
            ),
            Self::ZeroPending(p) => {
                format!(
                    "{p} is lower and the readout is still to be zeroed there; zero it or say that it was left"
                )
            }
            Self::NoZeroAdvised => {
                "no zeroing is due; leave the readout as it is and touch the next point".into()
            }
            Self::Mismatch(p, mismatch) => format!("at {p} {}", mismatch.words(show)),
            Self::TooFar(p) => format!("the height of {p} is beyond 100 m; is the unit right?"),
            Self::TooMany => format!("more than {MOST_TOUCHES} touches; begin a new series"),
            Self::NothingToClose => "nothing is touched yet; touch the first point".into(),
            Self::NothingToFix => "no reading to take back; touch a point".into(),
            Self::AlreadyZeroed(p) => format!(
                "the readout was zeroed at {p}, so that reading cannot be taken back; touch {p} again instead"
            ),
        }
    }
}

impl fmt::Display for TouchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words(&QuantityFormat::new(UnitSystem::Mm)))
    }
}

impl std::error::Error for TouchError {}
