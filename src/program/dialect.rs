//! In what one control differs from another. Part of the machine in the shop file.

use super::setting::Setting;

/// What a dimension without a decimal point means.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum NoPoint {
    /// `X10` is `X10.0`.
    #[default]
    Units,
    /// `X10` is ten least increments: 0.001 mm or 0.0001 inch each.
    Increments,
    /// A dimension without a point is a fault.
    Forbid,
}

/// A control's dialect.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Dialect {
    /// Dimensions without a point.
    pub no_point: NoPoint,
    /// Whether the shop file says so, rather than it being taken as most controls do.
    pub no_point_said: bool,
    /// `G4 P` counts milliseconds; seconds otherwise.
    pub dwell_in_milliseconds: bool,
    /// Arc centres are absolute until G91.1 is said.
    pub absolute_centres: bool,
    /// M codes that change nothing that matters here, such as a chip conveyor's.
    pub harmless: Vec<u16>,
    /// G codes of the same sort, ten times their number.
    pub harmless_g: Vec<u16>,
    /// The state after power-up, where it is known. Whether the control was switched off and on since the last program
    /// is another question, so that most leave it unset.
    pub start: Setting,
}

/// The switches on the panel that change which blocks are carried out.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct PanelSwitches {
    /// Block delete on: blocks with a stroke are left out.
    pub block_delete: bool,
}
