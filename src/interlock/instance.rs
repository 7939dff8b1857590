//! One asking of a step: the step, and the pass it is asked for.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A step of the procedure as it is asked once: in a repeating phase once for each pass.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
pub struct Instance {
    /// The step's id.
    pub step: String,
    /// The number of the pass, from 1; none outside repeating phases.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<u32>,
}

impl Instance {
    /// A step in a pass, or outside any.
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
