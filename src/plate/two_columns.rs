//! Tests of readout and machine coordinates together: they agree, disagree, or one continues the other.

use super::crosscheck::{Mismatch, SuspectedSlip};
use super::worked_example::{both, readout, touch, um};
use super::{Advice, Frame, Reading, Series, TouchError, ZeroMode};
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

/// P1 at zero, P2 0.12 lower (zeroed), P3 0.31 above P2 (left), with machine Z -152.25 at height zero.
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

// Source: derived from readout = height - zero and machine = height + origin, with one of them falsified. P4 is truly
// at -0.04: readout +0.08, machine -152.29.
#[test]
fn a_mismatch_names_the_slip() {
    let cases = [
        (-80, -152_290, SuspectedSlip::ReadoutSign),
        (-230, -152_290, SuspectedSlip::ZeroedHigher("P3".into())),
        (-40, -152_290, SuspectedSlip::NotZeroed("P2".into())),
        (-152_290, 80, SuspectedSlip::Swapped),
        (
            3, // 0.00315 in, as a readout in inches shows 0.08 mm
            -152_290,
            SuspectedSlip::Readout("a figure in inches was taken for millimetres"),
        ),
        (
            80,
            152_290,
            SuspectedSlip::Machine("a minus sign was lost or added"),
        ),
        (
            800,
            -152_290,
            SuspectedSlip::Readout("the decimal point is one place too far right"),
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
                suspect: None,
                unproven: None,
            }
        )
    );
    assert_eq!(
        error.to_string(),
        "at P4 the columns disagree: height +0.33 mm by the readout, -0.04 mm by machine coordinates, apart by \
         0.33 - (-0.04) = 0.37 mm; touch the point again and read both"
    );
}

// P1 is at height 0, machine Z -152.25; P2 is truly 0.12 lower, at -152.37.
#[test]
fn a_slip_at_the_first_point_is_not_reported_at_the_second() {
    let second = |first: i64, readout: i64, machine: i64| {
        let mut series = Series::new(ZeroMode::Running, Frame::default());
        series.touch("P1", both(um(0), um(first))).unwrap();
        let refused = series.touch("P2", both(um(readout), um(machine)));
        let Err(TouchError::Mismatch(_, mismatch)) = refused else {
            panic!("{refused:?}");
        };
        mismatch
    };
    // The minus sign was lost at P1, or its decimal point is one place off.
    let sign = "a minus sign was lost or added";
    let found = second(152_250, -120, -152_370);
    assert_eq!(
        found.suspect,
        Some(SuspectedSlip::MachineAt("P1".into(), sign))
    );
    let words = found.words(&QuantityFormat::new(UnitSystem::Mm));
    assert!(
        words.contains("in the machine column at P1 a minus sign")
            && words.ends_with("begin the series again and read both columns at P1"),
        "{words}"
    );
    let found = second(-15_225, -120, -152_370);
    let left = "the decimal point is one place too far left";
    assert_eq!(
        found.suspect,
        Some(SuspectedSlip::MachineAt("P1".into(), left))
    );
    // Two digits changed places at P1: no slip is named, and neither point alone is suspected.
    let found = second(-125_250, -120, -152_370);
    assert_eq!(
        (&found.suspect, found.unproven.as_deref()),
        (&None, Some("P1"))
    );
    let words = found.words(&QuantityFormat::new(UnitSystem::Mm));
    assert!(words.contains("here or at P1"), "{words}");
    // A slip at the second point is still named as such.
    let found = second(-152_250, 120, -152_370);
    assert_eq!(found.suspect, Some(SuspectedSlip::ReadoutSign));
    // Once a second touch agreed with it, the first point is confirmed.
    let mut series = with_machine();
    let refused = series.touch("P4", both(um(80), um(152_290))).unwrap_err();
    let TouchError::Mismatch(_, found) = refused else {
        panic!("{refused:?}");
    };
    assert_eq!(found.unproven, None);
}

// P2 was zeroed at -0.12. A point at -0.06 reads +0.06 there; a person who counts from P1 types -0.06, and so does a
// person who added a minus sign.
#[test]
fn a_difference_that_two_slips_explain_names_neither() {
    let mut series = with_machine();
    let refused = series.touch("P4", both(um(-60), um(-152_310))).unwrap_err();
    let TouchError::Mismatch(_, found) = refused else {
        panic!("{refused:?}");
    };
    assert_eq!(found.suspect, None);
}

// -0.006 in by machine Z; the same value typed in mm at the inch prompt: 0.006 in = 0.1524 mm.
#[test]
fn machine_z_distinguishes_millimetres_at_an_inch_prompt_from_thousandths() {
    let thou = |n: i64| Length::from_counts(n * 254_000).unwrap();
    let step = Length::from_counts(127_000).unwrap();
    let mut series = Series::new(ZeroMode::Running, Frame::default()).agreeing_within(step);
    series.touch("P1", both(Length::ZERO, thou(-6000))).unwrap();
    let refused = series
        .touch("P2", both(thou(-150), thou(-6006)))
        .unwrap_err();
    let TouchError::Mismatch(_, found) = refused else {
        panic!("{refused:?}");
    };
    let mm = "a figure in millimetres was taken for inches";
    assert_eq!(found.suspect, Some(SuspectedSlip::Readout(mm)));
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
fn machine_coordinates_continue_an_earlier_series() {
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
        touch.working(&QuantityFormat::new(UnitSystem::Mm)).lines(),
        ["height of P4 = machine - machine at height 0 = -152.29 - (-152.25) = -0.04 mm"]
    );
    // A lost zero of the readout is computed again from machine coordinates.
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
