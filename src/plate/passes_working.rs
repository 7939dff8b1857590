//! The working of a plan of passes, in words.

use super::passes::Plan;
use super::working::{Working, number, operand, plain, result};
use crate::quantity::format::QuantityFormat;

impl Plan {
    /// The number of passes and their planes, with the computation of each.
    pub(crate) fn working(&self, show: &QuantityFormat) -> Working {
        let mut working = Working::new();
        let Some(last) = self.last_plane() else {
            working.push(format!(
                "no passes: the plane {} is not below the highest place {}, so there is nothing to take off",
                result(show, self.target),
                result(show, self.highest)
            ));
            return working;
        };
        if let Some(step) = self.limits.step {
            working.push(format!(
                "planes are whole steps of the readout, {}: the last rounded down, so that no old surface remains; where \
                 roughing ends before a finishing pass down, so that it bites no more than asked; the others up, so \
                 that they bite no more than allowed",
                plain(show, step)
            ));
        }
        if last != self.target {
            working.push(format!(
                "last plane, {} down to a whole step of the readout = {}",
                result(show, self.target),
                result(show, last)
            ));
        }
        let rough = self.passes.iter().filter(|p| !p.finishing);
        if let Some(rough_to) = rough.clone().next_back().map(|p| p.plane) {
            let depth = self.highest.minus(rough_to).unwrap_or_default();
            let count = rough.count();
            working.push(format!(
                "roughing = highest - plane = {} - {} = {}, at most {} a pass: {count} {}",
                number(show, self.highest),
                operand(show, rough_to),
                plain(show, depth),
                plain(show, self.limits.max_bite),
                if count == 1 { "pass" } else { "equal passes" }
            ));
        }
        let mut above = self.highest;
        for pass in &self.passes {
            let name = if pass.finishing {
                "finishing bite"
            } else {
                "bite"
            };
            working.push(format!(
                "{name} = {} - {} = {}, plane {}",
                number(show, above),
                operand(show, pass.plane),
                plain(show, pass.bite),
                result(show, pass.plane)
            ));
            above = pass.plane;
        }
        working
    }
}
