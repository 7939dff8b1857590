//! The reasons why typed text is not a quantity: what is wrong, where, and what to type instead.

use super::dimension::Dimension;
use std::ops::Range;
use thiserror::Error;

/// Why typed text is not a quantity, and where in the text (in bytes).
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("{problem}")]
pub struct ParseError {
    /// What is wrong and what to type instead.
    pub problem: Problem,
    /// The location in the typed text, in bytes.
    pub at: Range<usize>,
}

/// The ways in which typed text fails to be a quantity.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Problem {
    /// Nothing was typed.
    #[error("nothing typed; type a number such as {0}")]
    Empty(String),
    /// No digits where the number should be.
    #[error("no number here; type one such as {0}")]
    NoNumber(String),
    /// A comma where only a full stop is a decimal mark.
    #[error("a comma is not a decimal mark here; write {0}")]
    Comma(String),
    /// Two decimal marks.
    #[error("more than one decimal mark in a number")]
    TwoMarks,
    /// More than one sign.
    #[error("more than one sign")]
    TwoSigns,
    /// An exponent, as in 1e3.
    #[error("powers of ten such as 1e3 are not accepted; write the number in full")]
    Exponent,
    /// A fraction with a denominator of zero.
    #[error("a fraction with a denominator of zero")]
    OverNought,
    /// More digits than can be stored exactly.
    #[error("more digits than can be stored exactly")]
    TooLong,
    /// Finer than a tenth of a nanometre, or a fraction that is no whole number of such steps.
    #[error("finer than a tenth of a nanometre; write it as a decimal with fewer places")]
    TooFine,
    /// Longer than 100 m.
    #[error("longer than 100 m; is the unit right?")]
    TooFar,
    /// The text is not a known unit.
    #[error("`{0}` is not a unit known here{1}")]
    UnknownUnit(String, String),
    /// A number without a unit among parts with units, or two numbers in a row.
    #[error("each number needs its own unit when there are several")]
    SecondBare,
    /// Parts of different kinds.
    #[error("{0} and {1} do not add up to one quantity")]
    MixedKinds(Dimension, Dimension),
    /// A correct quantity of the wrong kind.
    #[error("that is {0}, but {1} is needed; type one such as {2}")]
    WrongKind(Dimension, Dimension, String),
}
