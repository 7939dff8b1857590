//! The working behind a value: the formula, its numbers, the result.

use crate::quantity::{Length, Quantity, format::QuantityFormat};

/// Lines that show how a value was computed; one value a line, in the order of computation.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Working {
    lines: Vec<String>,
}

impl Working {
    /// No lines.
    pub(crate) fn new() -> Self {
        Self::default()
    }

    /// Adds a line.
    pub(crate) fn push(&mut self, line: impl Into<String>) {
        self.lines.push(line.into());
    }

    /// Adds the lines of another piece of working.
    pub(crate) fn extend(&mut self, other: Self) {
        self.lines.extend(other.lines);
    }

    /// The lines, in the order of computation.
    pub(crate) fn lines(&self) -> &[String] {
        &self.lines
    }
}

/// A result with sign and unit, such as `+0.19 mm`.
pub(crate) fn result(show: &QuantityFormat, length: Length) -> String {
    show.signed().one(Quantity::from(length))
}

/// A value without direction, with its unit, such as `0.36 mm`.
pub(crate) fn plain(show: &QuantityFormat, length: Length) -> String {
    let unsigned = QuantityFormat {
        signed: false,
        ..*show
    };
    unsigned.one(Quantity::from(length))
}

/// The first number of a formula, without its unit, such as `-0.12`.
pub(crate) fn number(show: &QuantityFormat, length: Length) -> String {
    let text = plain(show, length);
    match text.split_once(' ') {
        Some((number, _)) => number.to_owned(),
        None => text,
    }
}

/// A number after an operator, such as `0.31` or `(-0.05)`, so that no two signs follow each other.
pub(crate) fn operand(show: &QuantityFormat, length: Length) -> String {
    let number = number(show, length);
    if length < Length::ZERO {
        format!("({number})")
    } else {
        number
    }
}
