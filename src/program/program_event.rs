//! What a program does apart from motion, and the faults of its text.

use super::fact::{Cause, StateFact};
use super::motion::FileLocation;
use super::setting::{
    Compensation, Coolant, LengthOffset, PathMode, Plane, Setting, Spindle, Units, WorkOffset,
};

/// Something a block does apart from motion, in the order of execution.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ProgramEvent<'a> {
    /// What the block does, such as turning the spindle on.
    pub what: ProgramEventKind,
    /// The modal state after the event.
    pub setting: &'a Setting,
    /// The block that causes it, with its line and text.
    pub at: FileLocation<'a>,
}

/// The kinds of event.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum ProgramEventKind {
    /// G20 or G21.
    Units(Units),
    /// G17 to G19.
    Plane(Plane),
    /// M3, M4 or M5.
    Spindle(Spindle),
    /// An S word.
    Speed(StateFact<f64>),
    /// An F word, in the unit of the feed mode.
    Feed(StateFact<f64>),
    /// M7, M8 or M9.
    Coolant(Coolant),
    /// A T word.
    ChosenTool(StateFact<u32>),
    /// M6: the tool now in the spindle, and the tool before it.
    ToolChange(StateFact<u32>, StateFact<u32>),
    /// G54 to G59.3.
    WorkOffset(WorkOffset),
    /// G43 or G49.
    LengthOffset(LengthOffset),
    /// G40 to G42.
    Compensation(Compensation),
    /// G61, G61.1 or G64.
    Path(PathMode),
    /// G4, in seconds.
    Dwell(StateFact<f64>),
    /// G92 and related codes.
    Shift,
    /// G10: the program writes an offset in the control's table.
    OffsetWritten,
    /// G10 with L1: the program writes a length in the control's tool table.
    ToolWritten,
    /// A comment, as byte offsets in the line.
    Comment {
        /// Offset of the first byte.
        start: u32,
        /// Offset just past the last byte.
        end: u32,
    },
    /// M0 or M60.
    Stop,
    /// M1.
    OptionalStop,
    /// M48 (true), M49 (false).
    Overrides(bool),
    /// A drilling cycle, by the number of its code.
    Cycle(u8),
    /// G28, G30, or a move in machine coordinates.
    MachineMove,
    /// A call of a subprogram in the file, by its label.
    Call(u32),
    /// M2 or M30, by the number.
    End(u8),
    /// Something that cannot be followed may have changed state.
    Lost(Cause),
}
