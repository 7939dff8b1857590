//! What a program is judged against. Every part may be missing: what is not known is not judged, and that is said.

use super::setting::{LengthOffset, Units, WorkOffset};

/// The plate as it lies in the work offset. Millimetres.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Plate {
    /// Length along X and width along Y.
    pub size: [f64; 2],
    /// X and Y of its corner with the smallest coordinates, where known.
    pub corner: Option<[f64; 2]>,
}

/// The cutter. Millimetres and turns a minute.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Cutter {
    /// Diameter.
    pub diameter: f64,
    /// Corner radius or chamfer.
    pub corner: f64,
    /// Teeth.
    pub teeth: Option<f64>,
    /// Deepest bite.
    pub deepest_bite: Option<f64>,
    /// Least and most chip load, a tooth.
    pub chip_load: Option<[f64; 2]>,
    /// Highest speed.
    pub highest_speed: Option<f64>,
}

impl Cutter {
    /// Radius of what it cuts flat.
    pub fn flat_radius(&self) -> f64 {
        self.diameter / 2.0 - self.corner
    }
}

/// The machine. Millimetres, mm/min and turns a minute.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Mill {
    /// Lowest and highest speed.
    pub speeds: Option<[f64; 2]>,
    /// Highest feed.
    pub highest_feed: Option<f64>,
    /// Travel along X and Y, from home away.
    pub travel: Option<[f64; 2]>,
    /// The lowest machine Z; home is nought.
    pub lowest_z: Option<f64>,
    /// Whether it has coolant.
    pub coolant: Option<bool>,
    /// Whether the cutter at home is clear of all that stands on the table.
    pub clear_at_home: Option<bool>,
    /// Whether length offsets are in use.
    pub length_offsets: Option<bool>,
}

/// All that is known.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Setup {
    /// The plate that the path must reach; without it nothing is said of edges and coverage.
    pub plate: Option<Plate>,
    /// The cutter in the spindle; without it bites, rows and chip loads are not judged.
    pub cutter: Option<Cutter>,
    /// The machine; without it travels, speeds and feeds are not held against its limits.
    pub mill: Option<Mill>,
    /// The unit read back.
    pub units: Option<Units>,
    /// The work offset read back.
    pub work_offset: Option<WorkOffset>,
    /// The length offset read back.
    pub length_offset: Option<LengthOffset>,
    /// The tool's number.
    pub tool: Option<u32>,
    /// The lowest Z the program should cut to, in its own coordinates.
    pub lowest_z: Option<f64>,
    /// Z of the highest metal, in the program's coordinates.
    pub stock_top: Option<f64>,
    /// Machine coordinates of the work zero, a length offset in use included.
    pub zero: Option<[f64; 3]>,
}

impl Setup {
    /// What is not known, and so not judged.
    pub fn missing(&self) -> Vec<&'static str> {
        let corner = self.plate.is_some_and(|p| p.corner.is_some());
        [
            (
                self.plate.is_none(),
                "the plate: whether the rows reach past its edges",
            ),
            (
                !corner,
                "where the plate lies: plunges, the start point, each edge",
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
                "where the work zero lies on the machine: whether an axis ends before the program does",
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
