//! Readout and machine coordinates side by side: agreeing, disagreeing, and going on from one to the other.

use super::worked_example::{both, readout, touch, um};
use super::{Advice, Frame, Mismatch, Reading, Series, Suspect, TouchError, ZeroMode};
use crate::quantity::{Length, UnitSystem, show::Show};

/// P1 at nought, P2 0.12 lower (zeroed), P3 0.31 over P2 (left), with machine Z -152.25 at height nought.
fn with_machine() -> Series {
    let mut series = Series::new(ZeroMode::Running, Frame::default());
    for (point, reading, machine) in [
        ("P1", 0, -152_250),
        ("P2", -120, -152_370),
        ("P3", 310, -152_060),
    ] {
        touch(&mut series, point, both(um(reading), um(machine))).unwrap();
    }
    series
}

// Source: derived from readout = height - zero and machine = height + origin with one of them falsified. P4 truly lies at
// -0.04: readout +0.08, machine -152.29.
#[test]
fn a_mismatch_names_the_slip() {
    let cases = [
        (-80, -152_290, Suspect::ReadoutSign),
        (-230, -152_290, Suspect::ZeroedHigher("P3".into())),
        (-40, -152_290, Suspect::NotZeroed("P2".into())),
        (-152_290, 80, Suspect::Swapped),
        (
            3, // 0.00315 in, as a readout in inches shows 0.08 mm
            -152_290,
            Suspect::Readout("a figure in inches was taken for millimetres"),
        ),
        (
            80,
            152_290,
            Suspect::Machine("a minus sign was lost or added"),
        ),
        (
            800,
            -152_290,
            Suspect::Readout("the decimal point is one place too far right"),
        ),
    ];
    for (readout, machine, suspect) in cases {
        let mut series = with_machine();
        let before = series.clone();
        let error = series
            .touch("P4", both(um(readout), um(machine)))
            .unwrap_err();
        let TouchError::Mismatch(point, mismatch) = &error else {
            panic!("{readout} {machine}: {error}");
        };
        assert_eq!(point, "P4");
        assert_eq!(mismatch.suspect.as_ref(), Some(&suspect), "{error}");
        assert_eq!(series, before);
    }
    let mut series = with_machine();
    let error = series.touch("P4", both(um(450), um(-152_290))).unwrap_err();
    assert_eq!(
        error,
        TouchError::Mismatch(
            "P4".into(),
            Mismatch {
                by_readout: um(330),
                by_machine: um(-40),
                suspect: None
            }
        )
    );
    assert_eq!(
        error.to_string(),
        "at P4 the columns disagree: height +0.33 mm by the readout, -0.04 mm by machine coordinates, apart by \
         0.33 - (-0.04) = 0.37 mm; touch the point again and read both"
    );
}

#[test]
fn columns_agree_exactly_or_within_the_tolerance() {
    let off_by = |counts: i64| {
        both(
            um(80),
            um(-152_290)
                .plus(Length::from_counts(counts).unwrap())
                .unwrap(),
        )
    };
    assert!(with_machine().touch("P4", off_by(0)).is_ok());
    assert!(with_machine().touch("P4", off_by(1)).is_err());
    let mut within = with_machine().agreeing_within(um(10));
    assert!(within.touch("P4", off_by(100_000)).is_ok());
    assert!(within.touch("P5", off_by(-100_001)).is_err());
}

#[test]
fn machine_coordinates_go_on_where_an_earlier_series_stood() {
    let frame = with_machine().frame();
    assert_eq!(frame.origin, Some(um(-152_250)));
    let mut machine = Series::new(ZeroMode::Machine, frame);
    let only = |z| Reading {
        readout: None,
        machine: Some(um(z)),
    };
    let touch = machine.touch("P4", only(-152_290)).unwrap();
    assert_eq!((touch.height, touch.advice), (um(-40), Advice::Leave));
    assert_eq!(
        touch.working(&Show::new(UnitSystem::Mm)).lines(),
        ["height of P4 = machine - machine at height 0 = -152.29 - (-152.25) = -0.04 mm"]
    );
    // A lost readout zero is found again from machine coordinates.
    let lost = Frame {
        zero: None,
        ..frame
    };
    let mut running = Series::new(ZeroMode::Running, lost);
    assert_eq!(
        running.touch("P4", readout(um(0))),
        Err(TouchError::Unplaced("P4".into()))
    );
    running.touch("P4", both(um(0), um(-152_290))).unwrap();
    assert_eq!(running.frame().zero, Some(um(-40)));
}
