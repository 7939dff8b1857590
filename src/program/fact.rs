//! What is known about a part of the control's state: not set yet, a value, or unknown, with the line that made it
//! unknown.

use std::fmt;

/// A part of the control's state.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum StateFact<T> {
    /// The program has not set it; the program before left its value.
    #[default]
    Unset,
    /// The program set it to this value.
    Known(T),
    /// It is unknown, for this reason.
    Unknown(Cause),
}

/// The reason why something is unknown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cause {
    /// The line that made it unknown, from 1.
    pub line: u32,
    /// The kind of reason.
    pub why: UnknownReason,
}

/// The kinds of reason for which something becomes unknown.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum UnknownReason {
    /// A word was not understood.
    UnknownWord,
    /// Some bytes are not a word.
    Unreadable,
    /// Flow control, a macro call, or a subprogram that is not in the file.
    FlowControl,
    /// The value depends on a parameter that the program did not set.
    Parameter,
    /// A move in machine coordinates, or to the second reference point.
    MachineCoordinates,
    /// A move to the home position.
    Home,
    /// A change of work offset: the position in the new offset depends on the values of both.
    WorkOffset,
    /// A length offset: its value is in the control's table.
    LengthOffset,
    /// An incremental move from an unknown position.
    Incremental,
    /// An offset or shift that the program writes.
    Shift,
    /// A tool change, which may move the axes.
    ToolChange,
    /// A probing move.
    Probe,
    /// Scaling, rotation, mirror or polar coordinates.
    Transform,
    /// The units were never set.
    Units,
    /// Neither absolute nor incremental mode was set.
    Distance,
    /// The block is in error; what a control then does differs from control to control.
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
            Self::Distance => "neither G90 nor G91 was set",
            Self::BlockInError => "a block in error",
        })
    }
}

impl<T: Copy> StateFact<T> {
    /// The value, where it is known.
    pub(crate) fn known(self) -> Option<T> {
        match self {
            Self::Known(value) => Some(value),
            Self::Unset | Self::Unknown(_) => None,
        }
    }

    /// The reason why it is unknown, where it is.
    pub(crate) fn cause(self) -> Option<Cause> {
        match self {
            Self::Unknown(cause) => Some(cause),
            Self::Unset | Self::Known(_) => None,
        }
    }

    /// The same fact with the function applied to its value.
    #[must_use]
    pub(crate) fn map<U>(self, work: impl FnOnce(T) -> U) -> StateFact<U> {
        match self {
            Self::Unset => StateFact::Unset,
            Self::Known(value) => StateFact::Known(work(value)),
            Self::Unknown(cause) => StateFact::Unknown(cause),
        }
    }

    /// Whether the program has not set it.
    pub(crate) fn is_unset(self) -> bool {
        matches!(self, Self::Unset)
    }
}
