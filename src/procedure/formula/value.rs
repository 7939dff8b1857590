//! The values of formulas.

use crate::quantity::format::QuantityFormat;
use crate::quantity::{Length, Quantity};

/// A value inside a formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Value {
    /// An amount of something.
    Quantity(Quantity),
    /// A condition, true or false.
    Truth(bool),
    /// One of several words.
    Word(String),
    /// A finished series of touches.
    Touches(Touches),
}

/// The result of a finished series of touches. Heights are above the run's first touch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Touches {
    /// The number of touched points.
    pub points: u32,
    /// Height of the lowest point.
    pub lowest: Length,
    /// Height of the highest point.
    pub highest: Length,
    /// The closing height of the first point minus its first height; zero where it was not touched again.
    pub drift: Length,
    /// The standard deviation of one touch, from repeated touches; zero where none was repeated.
    pub repeatability: Length,
    /// The height of the last point minus the height known of it before; zero where none was known.
    pub moved: Length,
}

impl Value {
    /// The value for people, lengths in both unit systems.
    pub(crate) fn shown(&self, show: &QuantityFormat) -> String {
        match self {
            Self::Quantity(q) => show.both(*q),
            Self::Truth(true) => "true".to_owned(),
            Self::Truth(false) => "not true".to_owned(),
            Self::Word(w) => w.clone(),
            Self::Touches(t) => format!("{} points", t.points),
        }
    }

    /// The value for a formula with its numbers put in: one unit system only.
    pub(crate) fn filled(&self, show: &QuantityFormat) -> String {
        match self {
            Self::Quantity(q) => show.one(*q),
            other => other.shown(show),
        }
    }
}

impl From<Length> for Value {
    fn from(length: Length) -> Self {
        Self::Quantity(length.into())
    }
}
