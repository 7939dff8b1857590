//! The facts about machine, cutter, plate and program before the metal is removed.

use crate::cutting::deflection::CutterBody;
use crate::quantity::Quantity;

/// The known facts; an unknown one is `None`, and the figures that need it are left out.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct CuttingConditions {
    /// Cutter diameter.
    pub diameter: Option<Quantity>,
    /// Teeth per revolution.
    pub teeth: Option<Quantity>,
    /// Corner radius, or leg of a chamfer.
    pub corner: Option<Quantity>,
    /// Smallest chip load; below it the cutter rubs.
    pub least_chip: Option<Quantity>,
    /// Largest chip load.
    pub most_chip: Option<Quantity>,
    /// The material of the cutter's body.
    pub body: Option<CutterBody>,
    /// Free length from nut to tip.
    pub stick_out: Option<Quantity>,
    /// Spindle speed of the program.
    pub spindle: Option<Quantity>,
    /// Feed of the program.
    pub feed: Option<Quantity>,
    /// Feed override for the finishing skim, as a fraction.
    pub finish_override: Option<Quantity>,
    /// Step-over.
    pub step_over: Option<Quantity>,
    /// How far the rim goes past the edges.
    pub beyond: Option<Quantity>,
    /// Length of the plate along the rows.
    pub long: Option<Quantity>,
    /// Width of the plate across the rows.
    pub wide: Option<Quantity>,
    /// Material of the plate, by its name in the shop file.
    pub material: Option<String>,
    /// Power of the spindle.
    pub spindle_power: Option<Quantity>,
    /// Tilt of the spindle, a ratio.
    pub tilt: Option<Quantity>,
    /// Metal above the shallowest steel now, at the highest place.
    pub steel: Option<Quantity>,
    /// Thickness now, at the highest place.
    pub thickness: Option<Quantity>,
    /// The smallest thickness the shop allows.
    pub least_thickness: Option<Quantity>,
    /// The cutter's finishing bite.
    pub finishing_bite: Option<Quantity>,
}

impl CuttingConditions {
    /// Whether nothing at all is known.
    pub(crate) fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
