//! The differences between controls. Part of the machine in the shop file.

use super::setting::Setting;

/// The meaning of a dimension without a decimal point.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum NoPoint {
    /// `X10` is `X10.0`.
    #[default]
    Units,
    /// `X10` means ten least increments: 0.001 mm or 0.0001 inch each.
    Increments,
    /// A dimension without a point is a fault.
    Forbid,
}

/// The dialect of a control.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Dialect {
    /// How dimensions without a decimal point are read.
    pub no_point: NoPoint,
    /// Whether the shop file states `no_point`; otherwise it is the assumption that fits most controls.
    pub no_point_said: bool,
    /// Whether `G4 P` counts milliseconds; otherwise it counts seconds.
    pub dwell_in_milliseconds: bool,
    /// Whether arc centres are absolute until the program sets G91.1.
    pub absolute_centres: bool,
    /// M codes that change nothing that matters here, such as those for a chip conveyor.
    pub harmless: Vec<u16>,
    /// G codes that change nothing that matters here, as ten times their number.
    pub harmless_g: Vec<u16>,
    /// The modal state after power-up, where it is known. Most shops leave it unset, because nobody knows here whether
    /// the control was switched off and on since the last program.
    pub start: Setting,
}

/// The switches on the control panel that change which blocks are carried out.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct PanelSwitches {
    /// Whether block delete is on: blocks with a slash are then left out.
    pub block_delete: bool,
}
