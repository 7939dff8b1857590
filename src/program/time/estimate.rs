//! The estimated time of a program.

/// The time that a program needs. Times in seconds, at an override of 100 %.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Estimate {
    /// Length over feed, and over the rapid rate for rapids: the time without acceleration, waits included.
    pub plain: f64,
    /// The time with the machine's accelerations, waits included: the likely time.
    pub likely: f64,
    /// The time with twice the accelerations: the shortest.
    pub least: f64,
    /// The time with half the accelerations: the longest.
    pub most: f64,
    /// The waits in it: dwells, tool changes, the spindle reaching its speed.
    pub waits: f64,
    /// Length of all cuts, mm.
    pub cutting: f64,
    /// Length of all rapids, mm.
    pub rapid: f64,
    /// How often the program stops for the operator (M0, M60); that time is not included.
    pub stops: u32,
    /// Number of moves and waits of unknown duration, and the line of the first.
    pub untimed: Option<(u32, u32)>,
}
