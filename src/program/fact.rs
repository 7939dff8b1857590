//! What is known of a part of the control's state: nothing yet, a value, or that it cannot be known, and since where.

use std::fmt;

/// A part of the control's state.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum StateFact<T> {
    /// The program has not said; it is what the program before left.
    #[default]
    Unset,
    /// The program said so.
    Known(T),
    /// It cannot be known, and why.
    Unknown(Cause),
}

/// What made something unknown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cause {
    /// The line that did, from 1.
    pub line: u32,
    /// In which way.
    pub why: UnknownReason,
}

/// The ways in which something becomes unknown.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum UnknownReason {
    /// A word that is not understood.
    UnknownWord,
    /// Bytes that are no word.
    Unreadable,
    /// Flow control, a macro call, or a subprogram that is not in the file.
    FlowControl,
    /// A value that rests on a parameter which the program did not set.
    Parameter,
    /// A move in machine coordinates, or to the second home.
    MachineCoordinates,
    /// A move home.
    Home,
    /// Another work offset: where the axes stand in it depends on both.
    WorkOffset,
    /// A length offset: what it adds stands in the control's table.
    LengthOffset,
    /// An incremental move from a place that is not known.
    Incremental,
    /// An offset or shift that the program writes.
    Shift,
    /// A tool change may move the axes.
    ToolChange,
    /// A probing move.
    Probe,
    /// Scaling, rotation, mirror or polar coordinates.
    Transform,
    /// Units that were never set.
    Units,
    /// Absolute or incremental was never said.
    Distance,
    /// The block is in error, and controls differ in what they then do.
    BlockInError,
}

impl fmt::Display for UnknownReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::UnknownWord => "a word that is not understood",
            Self::Unreadable => "bytes that cannot be read",
            Self::FlowControl => "flow control or a call that is not followed",
            Self::Parameter => "a parameter that the program did not set",
            Self::MachineCoordinates => "a move in machine coordinates",
            Self::Home => "a move home",
            Self::WorkOffset => "a change of work offset",
            Self::LengthOffset => "a change of length offset",
            Self::Incremental => "an incremental move from an unknown place",
            Self::Shift => "an offset or shift that the program writes",
            Self::ToolChange => "a tool change",
            Self::Probe => "a probing move",
            Self::Transform => "scaling, rotation or polar coordinates",
            Self::Units => "units that were never set",
            Self::Distance => "neither G90 nor G91 was said",
            Self::BlockInError => "a block in error",
        })
    }
}

impl<T: Copy> StateFact<T> {
    /// The value, where it is known.
    pub fn known(self) -> Option<T> {
        match self {
            Self::Known(value) => Some(value),
            Self::Unset | Self::Unknown(_) => None,
        }
    }

    /// What made it unknown.
    pub fn cause(self) -> Option<Cause> {
        match self {
            Self::Unknown(cause) => Some(cause),
            Self::Unset | Self::Known(_) => None,
        }
    }

    /// The same fact with its value worked on.
    #[must_use]
    pub fn map<U>(self, work: impl FnOnce(T) -> U) -> StateFact<U> {
        match self {
            Self::Unset => StateFact::Unset,
            Self::Known(value) => StateFact::Known(work(value)),
            Self::Unknown(cause) => StateFact::Unknown(cause),
        }
    }

    /// Whether nothing was said of it.
    pub fn is_unset(self) -> bool {
        matches!(self, Self::Unset)
    }
}
