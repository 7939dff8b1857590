//! The working behind a value: formula, numbers put in, result.

use crate::quantity::{Length, Quantity, format::QuantityFormat};

/// Lines that show how a value came about; one value a line, in the order of the work.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Working {
    lines: Vec<String>,
}

impl Working {
    /// No lines yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a line.
    pub fn push(&mut self, line: impl Into<String>) {
        self.lines.push(line.into());
    }

    /// Adds the lines of another piece of working.
    pub fn extend(&mut self, other: Self) {
        self.lines.extend(other.lines);
    }

    /// The working as text, one step a line, in the order in which it is worked out.
    pub fn lines(&self) -> &[String] {
        &self.lines
    }
}

/// `+0.19 mm`: with its sign and unit, as a result.
pub fn result(show: &QuantityFormat, length: Length) -> String {
    show.signed().one(Quantity::from(length))
}

/// `0.36 mm`: with its unit, for values that have no direction.
pub fn plain(show: &QuantityFormat, length: Length) -> String {
    let unsigned = QuantityFormat {
        signed: false,
        ..*show
    };
    unsigned.one(Quantity::from(length))
}

/// `-0.12`: without its unit, as the first number put into a formula.
pub fn number(show: &QuantityFormat, length: Length) -> String {
    let text = plain(show, length);
    match text.split_once(' ') {
        Some((number, _)) => number.to_owned(),
        None => text,
    }
}

/// `0.31` or `(-0.05)`: a number after an operator, so that no two signs stand side by side.
pub fn operand(show: &QuantityFormat, length: Length) -> String {
    let number = number(show, length);
    if length < Length::ZERO {
        format!("({number})")
    } else {
        number
    }
}
