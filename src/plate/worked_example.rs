//! Touching off, cutting and finishing as one sequence, compared with figures computed by hand.

use super::{Advice, Entry, Frame, Limits, Plan, Reading, Series, Surface, TouchError, ZeroMode};
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

pub(super) fn um(n: i64) -> Length {
    Length::from_counts(n * 10_000).unwrap()
}

/// Ten-thousandths of an inch.
fn tenths(n: i64) -> Length {
    Length::from_counts(n * 25_400).unwrap()
}

pub(super) fn readout(reading: Length) -> Reading {
    Reading {
        readout: Some(reading),
        machine: None,
    }
}

pub(super) fn both(readout: Length, machine: Length) -> Reading {
    Reading {
        readout: Some(readout),
        machine: Some(machine),
    }
}

/// Touches in running mode, and zeroes wherever that is advised.
pub(super) fn touch(
    series: &mut Series,
    point: &str,
    reading: Reading,
) -> Result<Advice, TouchError> {
    let advice = series.touch(point, reading)?.advice;
    if advice == Advice::ZeroHere {
        series.zeroed()?;
    }
    Ok(advice)
}

/// P1 to P5 as touched in the example, millimetres, running zero (invented figures).
fn example() -> Series {
    let mut series = Series::new(ZeroMode::Running, Frame::default());
    for (point, reading, advice) in [
        ("P1", 0, Advice::Leave),
        ("P2", -120, Advice::ZeroHere),
        ("P3", 310, Advice::Leave),
        ("P4", 80, Advice::Leave),
        ("P5", -50, Advice::ZeroHere),
    ] {
        assert_eq!(touch(&mut series, point, readout(um(reading))), Ok(advice));
    }
    series
}

fn heights(series: &Series) -> Vec<(String, Length)> {
    let heights = series.heights();
    let pairs = heights.points().iter().map(|p| (p.point.clone(), p.height));
    pairs.collect()
}

// Source: computed by hand from height = zero + reading and entry = height - plane; the figures are invented.
#[test]
fn the_whole_example_equals_the_figures_computed_by_hand() {
    let series = example();
    let names = ["P1", "P2", "P3", "P4", "P5"].map(str::to_owned);
    let expected = [0, -120, 190, -40, -170].map(um);
    let pairs: Vec<_> = names.into_iter().zip(expected).collect();
    assert_eq!(heights(&series), pairs);
    let found = series.heights();
    let (low, high) = (found.lowest().unwrap(), found.highest().unwrap());
    assert_eq!((low.point.as_str(), high.point.as_str()), ("P5", "P3"));
    assert_eq!(found.spread(), Some(um(360)));

    let roughing = Limits {
        max_bite: um(250),
        finish: None,
        step: None,
    };
    let plan = Plan::new(high.height, low.height, roughing).unwrap();
    let planes: Vec<_> = plan.passes.iter().map(|p| (p.plane, p.bite)).collect();
    assert_eq!(planes, [(um(10), um(180)), (um(-170), um(180))]);
    let tip = series.last().unwrap().height;
    let entries: Vec<_> = planes
        .iter()
        .map(|(plane, _)| Entry::new(tip, *plane).unwrap().value)
        .collect();
    assert_eq!(entries, [um(-180), um(0)]);

    let mut surface = Surface::new();
    surface.touch_all(&found);
    let first = surface.cut(um(10)).unwrap();
    assert_eq!((first.largest(), first.deepest_at()), (um(180), vec!["P3"]));
    assert_eq!(first.untouched(), ["P1", "P2", "P4", "P5"]);
    let second = surface.cut(um(-170)).unwrap();
    let bites: Vec<_> = second.bites.iter().map(|b| b.taken).collect();
    assert_eq!(bites, [170, 50, 180, 130, 0].map(um));

    // The zero of the readout is now at the second plane; a low place reads -0.07 there.
    let mut again = Series::new(ZeroMode::Running, series.frame().entered(um(-170)));
    assert_eq!(
        touch(&mut again, "low place", readout(um(-70))),
        Ok(Advice::ZeroHere)
    );
    let low = again.last().unwrap().height;
    assert_eq!(low, um(-240));
    surface.touch_all(&again.heights());
    assert_eq!(surface.lowest().unwrap().point, "low place");
    let plane = low.minus(um(50)).unwrap();
    assert_eq!(plane, um(-290));
    assert_eq!(Entry::new(low, plane).unwrap().value, um(50));
    let third = surface.cut(plane).unwrap();
    let bites: Vec<_> = third.bites.iter().map(|b| b.taken).collect();
    assert_eq!(bites, [120, 120, 120, 120, 120, 50].map(um));

    let finish = plane.minus(um(80)).unwrap();
    assert_eq!(finish, um(-370));
    surface.cut(finish).unwrap();
    let taken = ["P3", "P5", "low place"].map(|p| surface.taken(p).unwrap());
    assert_eq!(taken, [560, 200, 130].map(um));
    assert_eq!(surface.spread(), Some(um(0)));
    assert_eq!(surface.taken("P9"), None);
}

#[test]
fn the_working_shows_formula_numbers_and_result() {
    let show = QuantityFormat::new(UnitSystem::Mm);
    let series = example();
    let lines: Vec<String> = series
        .touches()
        .iter()
        .flat_map(|t| t.working(&show).lines().to_vec())
        .collect();
    assert_eq!(
        lines,
        [
            "height of P1 = 0 mm (first touch)",
            "height of P2 = zero + reading = 0 + (-0.12) = -0.12 mm",
            "P2 is lower than the readout's zero: zero here, zero = -0.12 mm",
            "height of P3 = zero + reading = -0.12 + 0.31 = +0.19 mm",
            "height of P4 = zero + reading = -0.12 + 0.08 = -0.04 mm",
            "height of P5 = zero + reading = -0.12 + (-0.05) = -0.17 mm",
            "P5 is lower than the readout's zero: zero here, zero = -0.17 mm",
        ]
    );
    assert_eq!(
        series.heights().working(&show).lines(),
        [
            "lowest = -0.17 mm at P5",
            "highest = +0.19 mm at P3",
            "spread = highest - lowest = 0.19 - (-0.17) = 0.36 mm",
        ]
    );
}

// Source: running datum, readings 0, -.0040 (zeroed), +.0025, -.0015 (zeroed), +.0060 in; heights above the first point
// 0, -.0040, -.0015, -.0055, +.0005, above the last zero .0055 .0015 .0040 0 .0060, shift -.0055, spread .0060; derived
// and computed from the formula.
#[test]
fn a_running_datum_in_inches() {
    let mut series = Series::new(ZeroMode::Running, Frame::default());
    for (point, reading) in [("A", 0), ("B", -40), ("C", 25), ("D", -15), ("E", 60)] {
        touch(&mut series, point, readout(tenths(reading))).unwrap();
    }
    let found = series.heights();
    let heights: Vec<_> = found.points().iter().map(|p| p.height).collect();
    assert_eq!(heights, [0, -40, -15, -55, 5].map(tenths));
    let above: Vec<_> = found.above_lowest().unwrap().iter().map(|p| p.1).collect();
    assert_eq!(above, [55, 15, 40, 0, 60].map(tenths));
    assert_eq!(series.frame().zero, Some(tenths(-55)));
    assert_eq!(found.spread(), Some(tenths(60)));
}

// Source: s = sqrt(sum of d² / 2n), d = .0005, -.0010, .0005, 0, .0010 in: s = .0005 in; computed from the formula.
#[test]
fn repeats_average_and_give_the_repeatability() {
    let mut series = Series::new(ZeroMode::Fixed, Frame::default());
    series.touch("P0", readout(tenths(0))).unwrap();
    assert_eq!(series.repeatability(), None);
    for (i, d) in [5, -10, 5, 0, 10].into_iter().enumerate() {
        let point = format!("P{}", i + 1);
        series.touch(&point, readout(tenths(100))).unwrap();
        series.touch(&point, readout(tenths(100 + d))).unwrap();
    }
    assert_eq!(series.repeatability(), Some(tenths(5)));
    let found = series.heights();
    let first = found.points().get(1).unwrap();
    assert_eq!(
        (first.touches, first.height.counts()),
        (2, 102 * 25_400 + 12_700)
    );
}

// Source: the same formula with one pair one count apart: s = sqrt(1/2) = 0.707 counts, nearest 1; three counts apart:
// 2.12, nearest 2.
#[test]
fn repeatability_is_rounded_to_the_nearest_count() {
    for (d, expected) in [(1, 1), (3, 2)] {
        let mut series = Series::new(ZeroMode::Fixed, Frame::default());
        series.touch("P1", readout(um(0))).unwrap();
        let again = readout(Length::from_counts(d).unwrap());
        series.touch("P1", again).unwrap();
        assert_eq!(series.repeatability(), Length::from_counts(expected));
    }
}

#[test]
fn the_closing_touch_measures_drift_and_never_zeroes() {
    let mut series = example();
    let closing = series.close(readout(um(-10))).unwrap();
    assert_eq!(
        (closing.point.as_str(), closing.advice),
        ("P1", Advice::Leave)
    );
    assert_eq!(closing.height, um(-180));
    assert_eq!(series.drift(), Some(um(-180)));
    assert_eq!(series.heights().of("P1"), Some(um(0)));
    assert_eq!(series.frame().zero, Some(um(-170)));
    assert_eq!(series.repeatability(), None);
    // No drift where the first point reads the expected value: +0.17 above the present zero. More points may follow.
    series.close(readout(um(170))).unwrap();
    assert_eq!(series.drift(), Some(um(0)));
    series.touch("P6", readout(um(20))).unwrap();
    assert_eq!(series.heights().of("P6"), Some(um(-150)));
}

#[test]
fn the_last_reading_can_be_removed_until_the_readout_is_zeroed_on_it() {
    let mut series = Series::new(ZeroMode::Running, Frame::default());
    assert_eq!(series.fix(), Err(TouchError::NothingToFix));
    series.touch("P1", both(um(0), um(-9000))).unwrap();
    series.fix().unwrap();
    assert_eq!(series.frame(), Frame::default());
    series.touch("P1", readout(um(0))).unwrap();
    series.touch("P2", readout(um(-120))).unwrap();
    assert!(series.zero_pending());
    assert_eq!(
        series.touch("P3", readout(um(0))),
        Err(TouchError::ZeroPending("P2".into()))
    );
    series.fix().unwrap();
    assert_eq!(series.zeroed(), Err(TouchError::NoZeroAdvised));
    series.touch("P2", readout(um(-20))).unwrap();
    series.zeroed().unwrap();
    assert_eq!(series.fix(), Err(TouchError::AlreadyZeroed("P2".into())));
    assert_eq!(series.heights().of("P2"), Some(um(-20)));
    series.touch("P3", readout(um(-5))).unwrap();
    series.left().unwrap();
    series.touch("P4", readout(um(-5))).unwrap();
    assert_eq!(series.heights().of("P4"), Some(um(-25)));
}

#[test]
fn readings_that_give_no_height_are_refused_and_change_nothing() {
    let far = Length::from_counts(Length::LIMIT).unwrap();
    let mut running = Series::new(ZeroMode::Running, Frame::default());
    assert_eq!(
        running.touch("P1", readout(um(20))),
        Err(TouchError::FirstNotZero("P1".into(), um(20)))
    );
    assert_eq!(
        running.touch("P1", Reading::default()),
        Err(TouchError::NoReadout("P1".into()))
    );
    assert_eq!(running.touch(" ", readout(um(0))), Err(TouchError::NoName));
    assert_eq!(
        running.close(readout(um(0))),
        Err(TouchError::NothingToClose)
    );
    let mut machine = Series::new(ZeroMode::Machine, Frame::default().entered(um(-170)));
    assert_eq!(
        machine.touch("P1", readout(um(0))),
        Err(TouchError::NoMachine("P1".into()))
    );
    let only_machine = Reading {
        readout: None,
        machine: Some(far),
    };
    assert_eq!(
        machine.touch("P1", only_machine),
        Err(TouchError::Unplaced("P1".into()))
    );
    assert_eq!(
        machine.touch("P1", both(um(0), far)),
        Err(TouchError::TooFar("P1".into()))
    );
    assert_eq!((running.touches(), machine.touches()), (&[][..], &[][..]));
    assert_eq!(running.frame(), Frame::default());
}

// Source: zeroing on a higher point leaves the plane too high by that reading, common practice, no source; here derived
// from readout = height - zero.
#[test]
fn zeroing_without_advice_on_a_higher_point_cuts_shallow_by_that_reading() {
    let mut series = Series::new(ZeroMode::Running, Frame::default());
    touch(&mut series, "P1", readout(um(0))).unwrap();
    touch(&mut series, "P2", readout(um(-120))).unwrap();
    touch(&mut series, "P3", readout(um(310))).unwrap();
    // The readout is zeroed at P3 without advice. P4 is truly at -0.04, so it reads -0.23.
    let (true_height, lowest) = (um(-40), series.heights().lowest().unwrap().height);
    series.touch("P4", readout(um(-230))).unwrap();
    let believed = series.last().unwrap().height;
    let entry = Entry::new(believed, lowest).unwrap();
    let really = Entry::plane_from(true_height, entry.value).unwrap();
    assert_eq!(really.minus(lowest), Some(um(310)));
}

#[test]
fn ties_name_the_first_point_and_keep_all() {
    let mut series = Series::new(ZeroMode::Fixed, Frame::default());
    for (point, reading) in [("A", 0), ("B", 50), ("C", 0), ("D", 50)] {
        assert_eq!(
            touch(&mut series, point, readout(um(reading))),
            Ok(Advice::Leave)
        );
    }
    let found = series.heights();
    assert_eq!(found.lowest().unwrap().point, "A");
    assert_eq!(found.highest().unwrap().point, "B");
    let names = |all: Vec<&super::PointHeight>| -> Vec<String> {
        all.into_iter().map(|p| p.point.clone()).collect()
    };
    assert_eq!(names(found.all_lowest().collect()), ["A", "C"]);
    assert_eq!(names(found.all_highest().collect()), ["B", "D"]);
}
