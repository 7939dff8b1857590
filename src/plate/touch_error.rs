//! The reasons why a reading is refused.

use super::crosscheck::Mismatch;
use super::touch::MOST_TOUCHES;
use super::working::result;
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};
use std::fmt;

/// Why a reading is refused; the series stays unchanged.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum TouchError {
    /// A point without a name.
    NoName,
    /// The readout reading is missing.
    NoReadout(String),
    /// The machine reading is missing.
    NoMachine(String),
    /// The first touch does not read zero.
    FirstNotZero(String, Length),
    /// The zero of the column that was read is unknown; only that of the other column is known.
    Unplaced(String),
    /// Zeroing at this point was advised and is not answered yet.
    ZeroPending(String),
    /// No zeroing was advised.
    NoZeroAdvised,
    /// The two columns disagree at this point.
    Mismatch(String, Mismatch),
    /// A height larger than a length can be.
    TooFar(String),
    /// Too many touches.
    TooMany,
    /// A closing touch before the first one.
    NothingToClose,
    /// There is no reading to remove.
    NothingToFix,
    /// The readout was zeroed on the last reading, so that removing it would not restore the readout's zero.
    AlreadyZeroed(String),
}

impl TouchError {
    /// What is wrong and what to do, with lengths formatted by `show`.
    pub(crate) fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::NoName => "a point without a name; name it, such as P1".into(),
            Self::NoReadout(p) => format!("no readout reading at {p}; read the work readout"),
            Self::NoMachine(p) => format!("no machine reading at {p}; read machine Z"),
            Self::FirstNotZero(p, r) => format!(
                "the readout reads {} at the first touch, {p}; zero it there so that it reads 0",
                result(show, *r)
            ),
            Self::Unplaced(p) => format!(
                "this column alone does not give the height of {p}; read the other column too"
            ),
            Self::ZeroPending(p) => {
                format!(
                    "{p} is lower and the readout must still be zeroed there; zero it or say that you left it"
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
