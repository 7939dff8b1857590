//! The parameters that a program has set.

use std::collections::BTreeMap;

/// The parameters set by the program so far.
#[derive(Clone, Debug, Default)]
pub struct Parameters {
    set: BTreeMap<u32, Option<f64>>,
}

impl Parameters {
    /// Sets a parameter; `None` when its value is unknown.
    pub fn set(&mut self, number: u32, value: Option<f64>) {
        self.set.insert(number, value);
    }

    /// Forgets all parameters: something may have changed any of them.
    pub(crate) fn forget(&mut self) {
        self.set.clear();
    }

    pub(super) fn get(&self, number: u32) -> Option<f64> {
        self.set.get(&number).copied().flatten()
    }
}
