//! What is said of the time.

/// How long a program runs. Times in seconds, at an override of 100 %.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Estimate {
    /// Length over feed, and over the rapid rate for rapids: what it takes without speeding up and slowing down, waits
    /// included.
    pub plain: f64,
    /// With the machine's accelerations, waits included: the likely time.
    pub likely: f64,
    /// The same with twice the accelerations: the least.
    pub least: f64,
    /// The same with half the accelerations: the most.
    pub most: f64,
    /// What of it is waiting: dwells, tool changes, the spindle coming up to speed.
    pub waits: f64,
    /// Length of all cuts, mm.
    pub cutting: f64,
    /// Length of all rapids, mm.
    pub rapid: f64,
    /// How often the program stops for somebody (M0, M60); that time is not in here.
    pub stops: u32,
    /// Moves and waits whose time is not known, and the line of the first.
    pub untimed: Option<(u32, u32)>,
}
