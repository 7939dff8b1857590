//! Exact quantities with units: what a person types, what a formula computes, what a limit compares.
//!
//! Invariants: a [`Quantity`] is an exact fraction in base units (millimetre, second, kilogram, revolution, tooth)
//! together with its [`Dimension`]; a [`Length`] is a whole number of tenths of a nanometre, so that a millionth of an
//! inch and a nanometre are both whole numbers and a value exactly on its limit passes in either unit system. Nothing
//! here can be infinite, not-a-number or silently wrapped: arithmetic that would leave the range returns an error.

pub(crate) mod dimension;
pub(crate) mod exact;
pub mod format;
pub(crate) mod length;
pub mod moment;
pub mod parse;
pub mod parse_error;
pub mod range;
pub mod slip;
pub(crate) mod unit;
pub(crate) mod value;

pub use dimension::Dimension;
pub use exact::Exact;
pub use length::Length;
pub use unit::{Unit, UnitSystem};
pub use value::{Quantity, QuantityError};
