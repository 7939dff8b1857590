//! A figure that can be asked why.

use crate::quantity::{Quantity, format::QuantityFormat};

/// A value with its formula, what went in, and where the formula is from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WorkedFigure {
    /// Its name for programs, with its unit: `power_w`.
    pub key: &'static str,
    /// The unit of that name.
    pub unit: &'static str,
    /// Its name for people: `power at the cutter`.
    pub name: &'static str,
    /// What the formula comes to.
    pub value: Quantity,
    /// The formula in words.
    pub formula: &'static str,
    /// What went in.
    pub inputs: Vec<(&'static str, Quantity)>,
    /// Where the formula, and figures in it, are from.
    pub source: String,
}

impl WorkedFigure {
    /// `power at the cutter = energy x bite x width x feed = ~37.44 W`, then what went in, then the source.
    pub fn lines(&self, show: &QuantityFormat) -> Vec<String> {
        let inputs: Vec<String> = self
            .inputs
            .iter()
            .map(|(name, q)| format!("{name} {}", show.one(*q)))
            .collect();
        vec![
            format!(
                "{} = {} = {}",
                self.name,
                self.formula,
                show.one(self.value)
            ),
            format!("  with {}", inputs.join(", ")),
            format!("  source: {}", self.source),
        ]
    }
}
