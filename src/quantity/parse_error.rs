//! Why typed text is not a quantity: what is wrong, where, and what to type instead.

use super::dimension::Dimension;
use std::ops::Range;
use thiserror::Error;

/// Why typed text is not a quantity, and where in the text (bytes).
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{problem}")]
pub struct ParseError {
    /// What is wrong and what to type instead.
    pub problem: Problem,
    /// The place in the typed text.
    pub at: Range<usize>,
}

/// The ways in which typed text fails to be a quantity.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Problem {
    /// Nothing typed.
    #[error("nothing typed; type a number such as {0}")]
    Empty(String),
    /// No digits where the number should be.
    #[error("no number here; type one such as {0}")]
    NoNumber(String),
    /// A comma where only a full stop is a decimal mark.
    #[error("a comma is not taken for a decimal mark here; write {0}")]
    Comma(String),
    /// Two decimal marks.
    #[error("more than one decimal mark in a number")]
    TwoMarks,
    /// More than one sign.
    #[error("more than one sign")]
    TwoSigns,
    /// An exponent, as in 1e3.
    #[error("powers of ten such as 1e3 are not taken; write the number out")]
    Exponent,
    /// A fraction over nought.
    #[error("a fraction over nought")]
    OverNought,
    /// Too many digits to hold exactly.
    #[error("more digits than can be held exactly")]
    TooLong,
    /// Finer than a tenth of a nanometre, or a fraction that no such step can express.
    #[error("finer than a tenth of a nanometre; write it as a decimal with fewer places")]
    TooFine,
    /// Beyond a hundred metres.
    #[error("longer than 100 m; is the unit right?")]
    TooFar,
    /// Not a unit known here.
    #[error("`{0}` is not a unit known here{1}")]
    UnknownUnit(String, String),
    /// A number without a unit among parts with units, or two numbers in a row.
    #[error("each number needs its own unit when there are several")]
    SecondBare,
    /// Parts of different kinds.
    #[error("{0} and {1} do not add up to one quantity")]
    MixedKinds(Dimension, Dimension),
    /// The right form, the wrong kind.
    #[error("that is {0}, and {1} is asked for; type one such as {2}")]
    WrongKind(Dimension, Dimension, String),
}
