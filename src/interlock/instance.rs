//! An instance of a step: the step, and the pass for which it is asked.

use serde::{Deserialize, Serialize};
use std::fmt;

/// An instance of a step. A step in a repeating phase has one for each pass, any other step has one.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
pub struct Instance {
    /// The step's id.
    pub step: String,
    /// The number of the pass, from 1; `None` outside repeating phases.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<u32>,
}

impl Instance {
    /// The instance of `step` in `pass`, or outside any pass.
    pub fn new(step: impl Into<String>, pass: Option<u32>) -> Self {
        Self {
            step: step.into(),
            pass,
        }
    }
}

impl fmt::Display for Instance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.pass {
            Some(n) => write!(f, "{} (pass {n})", self.step),
            None => f.write_str(&self.step),
        }
    }
}
