//! What a machine's axes and control can do, as far as the time of a program depends on it.

use crate::program::setting::PathMode;

/// Corner tolerance where continuous motion is on and nobody says one, mm. An assumption.
pub const USUAL_CORNER: f64 = 0.02;
/// Deviation allowed to a control that keeps to the path exactly, mm. An assumption: with none it would stop at every
/// bend.
const EXACT_PATH: f64 = 0.002;

/// A machine's figures. Lengths in millimetres, times in seconds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Dynamics {
    /// Acceleration of X, Y and Z, mm/s2.
    pub acceleration: [f64; 3],
    /// Rapid rate of X, Y and Z, mm/s.
    pub rapid: [f64; 3],
    /// Fastest feed, mm/s.
    pub highest_feed: Option<f64>,
    /// How corners are run until the program says.
    pub path: PathMode,
    /// Corner tolerance of continuous motion where the program gives none, mm.
    pub corner: f64,
    /// Blocks the control can take in a second.
    pub block_rate: Option<f64>,
    /// A tool change.
    pub tool_change: f64,
    /// From standstill until the spindle is at speed.
    pub spin_up: f64,
}

impl Dynamics {
    /// Whether every figure can be reckoned with.
    pub fn is_sound(&self) -> bool {
        let above = |v: &f64| *v > 0.0 && v.is_finite();
        let not_below = |v: &f64| *v >= 0.0 && v.is_finite();
        self.acceleration.iter().chain(&self.rapid).all(above)
            && self.highest_feed.iter().chain(&self.block_rate).all(above)
            && [self.corner, self.tool_change, self.spin_up]
                .iter()
                .all(not_below)
    }

    /// Deviation at a corner under this path mode; nothing where it stops there.
    pub fn deviation(&self, path: PathMode) -> Option<f64> {
        match path {
            PathMode::ExactStop => None,
            PathMode::ExactPath => Some(EXACT_PATH),
            PathMode::Continuous(said) => Some(said.unwrap_or(self.corner)),
        }
    }
}

/// The most along a direction of length one so that no axis goes beyond its own limit.
pub fn along(direction: [f64; 3], limits: [f64; 3]) -> f64 {
    direction
        .iter()
        .zip(limits)
        .filter(|(u, _)| u.abs() > 1e-9)
        .map(|(u, limit)| limit / u.abs())
        .fold(f64::INFINITY, f64::min)
}
