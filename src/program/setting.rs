//! The modal state of the control, as far as the program has set it.

use super::fact::StateFact;

/// The unit of lengths in the program.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Units {
    /// G20 (or G70).
    Inch,
    /// G21 (or G71).
    Millimetre,
}

impl Units {
    /// The length of one unit in mm.
    pub(crate) fn mm(self) -> f64 {
        match self {
            Self::Inch => 25.4,
            Self::Millimetre => 1.0,
        }
    }

    /// The symbol of the unit.
    pub(crate) fn symbol(self) -> &'static str {
        match self {
            Self::Inch => "inch",
            Self::Millimetre => "mm",
        }
    }
}

/// The reference of axis words.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Distance {
    /// G90: the zero of the work offset.
    Absolute,
    /// G91: the current position of the axis.
    Incremental,
}

/// The plane of arcs, and so the axis of drilling cycles.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Plane {
    /// G17.
    Xy,
    /// G18.
    Zx,
    /// G19.
    Yz,
}

impl Plane {
    /// Indexes of the plane's first, second and third axis. Counter-clockwise is from the first to the second, seen
    /// from the plus end of the third.
    pub(crate) fn axes(self) -> [usize; 3] {
        match self {
            Self::Xy => [0, 1, 2],
            Self::Zx => [2, 0, 1],
            Self::Yz => [1, 2, 0],
        }
    }
}

/// The meaning of F.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FeedMode {
    /// G93: one over the time of the move in minutes.
    InverseTime,
    /// G94: length per minute.
    PerMinute,
    /// G95: length per turn of the spindle.
    PerTurn,
}

/// Whether the spindle turns, and in which direction.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Spindle {
    /// M5; also the state after a tool change.
    Stopped,
    /// M3.
    Clockwise,
    /// M4.
    CounterClockwise,
}

/// Coolant; both kinds may be on at once.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Coolant {
    /// M7.
    pub mist: bool,
    /// M8.
    pub flood: bool,
}

impl Coolant {
    /// Whether either kind is on.
    pub(crate) fn on(self) -> bool {
        self.mist || self.flood
    }
}

/// A work coordinate system: 1 for G54 to 9 for G59.3.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct WorkOffset(pub u8);

impl WorkOffset {
    /// The codes of all nine.
    pub(crate) const ALL: [&'static str; 9] = [
        "G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3",
    ];

    /// The code, such as `G54`.
    pub(crate) fn code(self) -> &'static str {
        Self::ALL
            .get(usize::from(self.0.saturating_sub(1)))
            .copied()
            .unwrap_or("G54")
    }
}

/// The tool length offset.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LengthOffset {
    /// G49.
    Cancelled,
    /// G43 with this H.
    Number(u32),
}

/// Cutter radius compensation.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Compensation {
    /// G40.
    Off,
    /// G41.
    Left,
    /// G42.
    Right,
}

/// How corners are run.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum PathMode {
    /// G61.
    ExactPath,
    /// G61.1.
    ExactStop,
    /// G64, with the corner tolerance in mm where P gives one.
    Continuous(Option<f64>),
}

/// The height to which drilling cycles return.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Retract {
    /// G98: the height before the cycle.
    Start,
    /// G99: the height of the R word.
    R,
}

/// The modal motion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Mode {
    /// G0.
    Rapid,
    /// G1.
    Feed,
    /// G2.
    Clockwise,
    /// G3.
    CounterClockwise,
    /// G80: no motion.
    Cancelled,
    /// G73, G81 to G89, by the number of the code.
    Cycle(u8),
}

/// The modal state of the control. Lengths in mm.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Setting {
    /// G20 or G21.
    pub units: StateFact<Units>,
    /// G90 or G91.
    pub distance: StateFact<Distance>,
    /// G17 to G19.
    pub plane: StateFact<Plane>,
    /// G93 to G95.
    pub feed_mode: StateFact<FeedMode>,
    /// F as set: mm/min, mm per turn, or one over minutes, depending on the feed mode.
    pub feed: StateFact<f64>,
    /// M3 to M5.
    pub spindle: StateFact<Spindle>,
    /// S, in rpm.
    pub speed: StateFact<f64>,
    /// M7 to M9.
    pub coolant: StateFact<Coolant>,
    /// The tool in the spindle, once M6 has put one there.
    pub tool: StateFact<u32>,
    /// The last T word.
    pub chosen_tool: StateFact<u32>,
    /// G54 to G59.3.
    pub work_offset: StateFact<WorkOffset>,
    /// G43 or G49.
    pub length_offset: StateFact<LengthOffset>,
    /// G40 to G42.
    pub compensation: StateFact<Compensation>,
    /// G61, G61.1 or G64.
    pub path: StateFact<PathMode>,
    /// G98 or G99.
    pub retract: StateFact<Retract>,
    /// M48 (true), M49 (false).
    pub overrides: StateFact<bool>,
    /// The motion that a block of only axis words carries out.
    pub mode: StateFact<Mode>,
    /// G92: the difference that it adds to the position in the work offset's own coordinates; zero where there is no
    /// shift.
    pub shift: [StateFact<f64>; 3],
}
