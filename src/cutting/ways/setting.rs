//! What is known of machine, cutter, plate and program before the metal is taken off.

use crate::cutting::deflection::CutterBody;
use crate::quantity::Quantity;

/// What is known; what is not stays `None` and takes out the figures that need it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct CuttingConditions {
    /// Cutter diameter.
    pub diameter: Option<Quantity>,
    /// Teeth per revolution.
    pub teeth: Option<Quantity>,
    /// Corner radius, or leg of a chamfer.
    pub corner: Option<Quantity>,
    /// Least chip load, below which it rubs.
    pub least_chip: Option<Quantity>,
    /// Most chip load.
    pub most_chip: Option<Quantity>,
    /// What the cutter is made of.
    pub body: Option<CutterBody>,
    /// Free length from nut to tip.
    pub stick_out: Option<Quantity>,
    /// Spindle speed of the program.
    pub spindle: Option<Quantity>,
    /// Feed of the program.
    pub feed: Option<Quantity>,
    /// Feed override for the finishing skim, a share.
    pub finish_override: Option<Quantity>,
    /// Step-over.
    pub step_over: Option<Quantity>,
    /// How far the rim runs past the edges.
    pub beyond: Option<Quantity>,
    /// Length of the plate along the rows.
    pub long: Option<Quantity>,
    /// Width of the plate across the rows.
    pub wide: Option<Quantity>,
    /// Material of the plate, as a shop file says it.
    pub material: Option<String>,
    /// Power of the spindle.
    pub spindle_power: Option<Quantity>,
    /// Tilt of the spindle, a ratio.
    pub tilt: Option<Quantity>,
    /// Metal over the shallowest steel now, at the highest place.
    pub steel: Option<Quantity>,
    /// Thickness now, at the highest place.
    pub thickness: Option<Quantity>,
    /// The least thickness the shop allows.
    pub least_thickness: Option<Quantity>,
    /// The cutter's finishing bite.
    pub finishing_bite: Option<Quantity>,
}

impl CuttingConditions {
    /// Whether nothing at all is known.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
