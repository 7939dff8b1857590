//! What a program does besides moving, and what is wrong with its text.

use super::fact::{Cause, StateFact};
use super::motion::FileLocation;
use super::setting::{
    Compensation, Coolant, LengthOffset, PathMode, Plane, Setting, Spindle, Units, WorkOffset,
};

/// Something a block does besides moving, in the order of execution.
#[derive(Clone, Copy, Debug)]
pub struct ProgramEvent<'a> {
    /// What the block does besides moving, such as turning the spindle on.
    pub what: ProgramEventKind,
    /// The modal state after it.
    pub setting: &'a Setting,
    /// The block that says it, with its line and text.
    pub at: FileLocation<'a>,
}

/// The kinds of happening.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum ProgramEventKind {
    /// G20, G21.
    Units(Units),
    /// G17 to G19.
    Plane(Plane),
    /// M3, M4, M5.
    Spindle(Spindle),
    /// S.
    Speed(StateFact<f64>),
    /// F, in the unit of the feed mode.
    Feed(StateFact<f64>),
    /// M7, M8, M9.
    Coolant(Coolant),
    /// T.
    ChosenTool(StateFact<u32>),
    /// M6: the tool now in the spindle, and the tool before.
    ToolChange(StateFact<u32>, StateFact<u32>),
    /// G54 to G59.3.
    WorkOffset(WorkOffset),
    /// G43, G49.
    LengthOffset(LengthOffset),
    /// G40 to G42.
    Compensation(Compensation),
    /// G61, G61.1, G64.
    Path(PathMode),
    /// G4, in seconds.
    Dwell(StateFact<f64>),
    /// G92 and its kin.
    Shift,
    /// G10: an offset in the control's table is written.
    OffsetWritten,
    /// G10 with L1: a length in the control's table of tools is written.
    ToolWritten,
    /// A comment: where it stands in the line.
    Comment {
        /// Its first byte.
        start: u32,
        /// One past its last.
        end: u32,
    },
    /// M0, M60.
    Stop,
    /// M1.
    OptionalStop,
    /// M48 (true), M49 (false).
    Overrides(bool),
    /// A drilling cycle is carried out.
    Cycle(u8),
    /// G28 or G30, or a move in machine coordinates.
    MachineMove,
    /// Control passes to a subprogram of the file.
    Call(u32),
    /// M2, M30.
    End(u8),
    /// Something may have changed that cannot be followed.
    Lost(Cause),
}
