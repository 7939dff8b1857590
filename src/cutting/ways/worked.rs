//! A figure with its explanation.

use crate::quantity::{Quantity, format::QuantityFormat};

/// A value with its formula, its inputs, and the source of the formula.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct WorkedFigure {
    /// The name in JSON, with its unit: `power_w`.
    pub key: &'static str,
    /// The unit in that name.
    pub unit: &'static str,
    /// The name for people: `power at the cutter`.
    pub name: &'static str,
    /// The result of the formula.
    pub value: Quantity,
    /// The formula in words.
    pub formula: &'static str,
    /// The inputs, by name.
    pub inputs: Vec<(&'static str, Quantity)>,
    /// The source of the formula and of figures in it.
    pub source: String,
}

impl WorkedFigure {
    /// `power at the cutter = energy x bite x width x feed = ~37.44 W`, then the inputs, then the source.
    pub(crate) fn lines(&self, show: &QuantityFormat) -> Vec<String> {
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
