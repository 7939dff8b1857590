//! The invented shop that the programs are for: a plate of 200 x 100 mm with its corner at X0 Y0, Z0 on the plane to
//! cut, 0.4 mm of metal above it, a 40 mm face mill with a corner radius of 0.4 mm.

use skimgate::program::dialect::Dialect;
use skimgate::program::setting::WorkOffset;
use skimgate::program::setup::{Cutter, Mill, Plate, Setup};
use skimgate::program::study::{ProgramStudy, study};

pub fn setup() -> Setup {
    Setup {
        plate: Some(Plate {
            size: [200.0, 100.0],
            corner: Some([0.0, 0.0]),
        }),
        cutter: Some(Cutter {
            diameter: 40.0,
            corner: 0.4,
            teeth: Some(4.0),
            deepest_bite: Some(0.5),
            chip_load: Some([0.02, 0.2]),
            highest_speed: Some(8000.0),
        }),
        mill: Some(Mill {
            speeds: Some([100.0, 8000.0]),
            highest_feed: Some(4000.0),
            travel: Some([600.0, 400.0]),
            lowest_z: Some(-300.0),
            coolant: Some(true),
            clear_at_home: Some(true),
            length_offsets: Some(true),
        }),
        work_offset: Some(WorkOffset(1)),
        lowest_z: Some(0.0),
        stock_top: Some(0.4),
        ..Setup::default()
    }
}

/// The shop's control: lengths without a decimal point are in the unit, and the shop file states it.
pub fn dialect() -> Dialect {
    Dialect {
        no_point_said: true,
        ..Dialect::default()
    }
}

pub fn studied_by(text: &str, setup: &Setup, dialect: &Dialect) -> ProgramStudy {
    study(&mut text.as_bytes(), dialect, setup, None).unwrap()
}
