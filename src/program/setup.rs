//! The set-up against which a program is judged. Every part may be missing: what is unknown is not judged, and reported
//! as such.

use super::setting::{LengthOffset, Units, WorkOffset};

/// The plate in the coordinates of the work offset. In mm.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Plate {
    /// Length along X and width along Y.
    pub size: [f64; 2],
    /// X and Y of the corner with the smallest coordinates, where known.
    pub corner: Option<[f64; 2]>,
}

/// The cutter. Lengths in mm, speeds in rpm.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Cutter {
    /// Diameter.
    pub diameter: f64,
    /// Corner radius or chamfer.
    pub corner: f64,
    /// Number of teeth.
    pub teeth: Option<f64>,
    /// Deepest bite the cutter can take.
    pub deepest_bite: Option<f64>,
    /// Smallest and largest chip load, mm per tooth.
    pub chip_load: Option<[f64; 2]>,
    /// Highest spindle speed.
    pub highest_speed: Option<f64>,
}

impl Cutter {
    /// Radius of the flat of the cutter, mm.
    pub(crate) fn flat_radius(&self) -> f64 {
        self.diameter / 2.0 - self.corner
    }
}

/// The machine. Lengths in mm, feeds in mm/min, speeds in rpm.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Mill {
    /// Lowest and highest spindle speed.
    pub speeds: Option<[f64; 2]>,
    /// Highest feed.
    pub highest_feed: Option<f64>,
    /// Travel along X and Y, counted from home.
    pub travel: Option<[f64; 2]>,
    /// The lowest machine Z; home is zero.
    pub lowest_z: Option<f64>,
    /// Whether the machine has coolant.
    pub coolant: Option<bool>,
    /// Whether the cutter at home is above everything on the table.
    pub clear_at_home: Option<bool>,
    /// Whether length offsets are in use.
    pub length_offsets: Option<bool>,
}

/// All that is known about the job.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Setup {
    /// The plate that the path must cover; without it edges and coverage are not judged.
    pub plate: Option<Plate>,
    /// The cutter in the spindle; without it bites, rows and chip loads are not judged.
    pub cutter: Option<Cutter>,
    /// The machine; without it travels, speeds and feeds are not compared with its limits.
    pub mill: Option<Mill>,
    /// The unit read back.
    pub units: Option<Units>,
    /// The work offset read back.
    pub work_offset: Option<WorkOffset>,
    /// The length offset read back.
    pub length_offset: Option<LengthOffset>,
    /// The tool's number.
    pub tool: Option<u32>,
    /// The lowest Z to which the program should cut, in its own coordinates.
    pub lowest_z: Option<f64>,
    /// Z of the highest metal, in the program's coordinates.
    pub stock_top: Option<f64>,
    /// Machine coordinates of the work zero; they include an active length offset.
    pub zero: Option<[f64; 3]>,
}

impl Setup {
    /// The facts that are unknown, each with what is therefore not judged.
    pub(crate) fn missing(&self) -> Vec<&'static str> {
        let corner = self.plate.is_some_and(|p| p.corner.is_some());
        [
            (
                self.plate.is_none(),
                "the plate: whether the rows reach past its edges",
            ),
            (
                !corner,
                "the position of the plate: plunges, the start point, each edge",
            ),
            (
                self.cutter.is_none(),
                "the cutter: step-over, chip load, bite, its highest speed",
            ),
            (self.mill.is_none(), "the machine: feeds, speeds, travel"),
            (self.units.is_none(), "the unit read back from the control"),
            (
                self.work_offset.is_none(),
                "the work offset read back from the control",
            ),
            (
                self.length_offset.is_none(),
                "the length offset read back from the control",
            ),
            (self.tool.is_none(), "the tool's number"),
            (self.lowest_z.is_none(), "the lowest Z it should cut to"),
            (
                self.stock_top.is_none(),
                "the top of the stock: whether it cuts air, how deep it bites",
            ),
            (
                self.zero.is_none(),
                "the position of the work zero on the machine: whether an axis ends before the program does",
            ),
        ]
        .into_iter()
        .chain([(
            self.zero.is_some(),
            "which way X and Y count from home: a work zero with the wrong sign",
        )])
        .filter_map(|(missing, what)| missing.then_some(what))
        .collect()
    }
}
