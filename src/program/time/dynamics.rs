//! The figures of a machine's axes and control that the time of a program depends on.

use crate::program::setting::PathMode;

/// Corner tolerance for continuous motion where neither program nor shop file gives one, mm. An assumption.
pub(crate) const USUAL_CORNER: f64 = 0.02;
/// Deviation assumed for a control that follows the path exactly, mm. An assumption: with none it would stop at every
/// bend.
const EXACT_PATH: f64 = 0.002;

/// The figures of a machine. Lengths in mm, times in seconds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Dynamics {
    /// Acceleration of X, Y and Z, mm/s2.
    pub acceleration: [f64; 3],
    /// Rapid rate of X, Y and Z, mm/s.
    pub rapid: [f64; 3],
    /// Highest feed, mm/s.
    pub highest_feed: Option<f64>,
    /// How corners are run until the program sets it.
    pub path: PathMode,
    /// Corner tolerance of continuous motion where the program gives none, mm.
    pub corner: f64,
    /// Blocks that the control can process in a second.
    pub block_rate: Option<f64>,
    /// Duration of a tool change.
    pub tool_change: f64,
    /// Time for the spindle to reach its speed from standstill.
    pub spin_up: f64,
}

impl Dynamics {
    /// Whether every figure can be used in a computation.
    pub(crate) fn is_sound(&self) -> bool {
        let above = |v: &f64| *v > 0.0 && v.is_finite();
        let not_below = |v: &f64| *v >= 0.0 && v.is_finite();
        self.acceleration.iter().chain(&self.rapid).all(above)
            && self.highest_feed.iter().chain(&self.block_rate).all(above)
            && [self.corner, self.tool_change, self.spin_up]
                .iter()
                .all(not_below)
    }

    /// Deviation at a corner under this path mode, mm; `None` where the axes stop there.
    pub(crate) fn deviation(&self, path: PathMode) -> Option<f64> {
        match path {
            PathMode::ExactStop => None,
            PathMode::ExactPath => Some(EXACT_PATH),
            PathMode::Continuous(said) => Some(said.unwrap_or(self.corner)),
        }
    }
}

/// The largest value along a unit vector for which no axis exceeds its own limit.
pub(crate) fn along(direction: [f64; 3], limits: [f64; 3]) -> f64 {
    direction
        .iter()
        .zip(limits)
        .filter(|(u, _)| u.abs() > 1e-9)
        .map(|(u, limit)| limit / u.abs())
        .fold(f64::INFINITY, f64::min)
}
