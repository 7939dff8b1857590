//! Tests: the order in which points are touched, how a series is read, and what touching a series again invalidates.
//! Invented figures.

use super::command::Command;
use super::event::Event;
use super::refusal::Refusal;
use super::testing::{TestRun, at, length, q};
use super::touches::due;
use super::touching::NextTouch;
use crate::plate::{Reading, ZeroMode};

const TOUCHES: &str = include_str!("../../tests/procedures/touches.yaml");

fn rig(way: &str) -> TestRun {
    let mut rig = TestRun::of(TOUCHES);
    rig.word(at("cutter"), "c12").unwrap();
    rig.word(at("way"), way).unwrap();
    rig
}

fn touches(
    rig: &mut TestRun,
    step: &str,
    point: &str,
    reading: Reading,
    closing: bool,
) -> Result<Vec<Event>, Refusal> {
    rig.try_do(Command::Touch {
        at: at(step),
        point: point.into(),
        reading,
        closing,
        place: None,
        accept: None,
    })
}

fn shows(readout: &str) -> Reading {
    Reading {
        readout: Some(length(readout)),
        machine: None,
    }
}

/// Touches a point, which must be accepted. Returns the events.
fn takes(rig: &mut TestRun, step: &str, point: &str, readout: &str) -> Vec<Event> {
    touches(rig, step, point, shows(readout), false).unwrap()
}

/// Touches a point, which must be refused. Returns what is due.
fn due_instead(rig: &mut TestRun, step: &str, point: &str, closing: bool) -> String {
    match touches(rig, step, point, shows("0"), closing) {
        Err(Refusal::WrongPoint { said, due }) => {
            assert_eq!(said, point);
            due
        }
        other => panic!("{point}, closing {closing}: {other:?}"),
    }
}

fn next(rig: &TestRun, step: &str) -> NextTouch {
    due(&rig.state, &at(step)).unwrap()
}

fn finish(rig: &mut TestRun, step: &str) -> Result<Vec<Event>, Refusal> {
    rig.try_do(Command::FinishTouches { at: at(step) })
}

/// Completes `corners` with the heights 0, 0.1 and -0.2.
fn corners(rig: &mut TestRun) {
    for (point, readout) in [("A", "0"), ("B", "0.1"), ("C", "-0.2")] {
        takes(rig, "corners", point, readout);
    }
    touches(rig, "corners", "A", shows("0"), true).unwrap();
    finish(rig, "corners").unwrap();
}

#[test]
fn listed_points_come_in_their_order_and_extra_ones_at_any_time() {
    let mut rig = rig("fixed");
    assert_eq!(next(&rig, "corners"), NextTouch::Point("A".into()));
    for (point, closing) in [("B", false), ("C", false), ("A", true), ("X", true)] {
        assert_eq!(due_instead(&mut rig, "corners", point, closing), "A");
    }
    assert!(matches!(
        finish(&mut rig, "corners"),
        Err(Refusal::TouchesOpen)
    ));
    takes(&mut rig, "corners", "A", "0");
    // Extra points come before, between and after the listed ones.
    takes(&mut rig, "corners", "X", "0.05");
    assert_eq!(next(&rig, "corners"), NextTouch::Point("B".into()));
    assert_eq!(due_instead(&mut rig, "corners", "A", false), "B");
    assert_eq!(due_instead(&mut rig, "corners", "A", true), "B");
    takes(&mut rig, "corners", "B", "0.1");
    takes(&mut rig, "corners", "C", "-0.2");

    // Only the first point closes the series.
    assert_eq!(next(&rig, "corners"), NextTouch::Closing("A".into()));
    assert!(matches!(
        finish(&mut rig, "corners"),
        Err(Refusal::TouchesOpen)
    ));
    let closing = "A again, to close the series";
    for (point, closes) in [("A", false), ("Y", false), ("B", true), ("B", false)] {
        assert_eq!(due_instead(&mut rig, "corners", point, closes), closing);
    }
    touches(&mut rig, "corners", "A", shows("0.01"), true).unwrap();

    assert_eq!(next(&rig, "corners"), NextTouch::Nothing);
    for (point, closes) in [("A", false), ("C", false), ("A", true), ("Y", true)] {
        assert_eq!(
            due_instead(&mut rig, "corners", point, closes),
            "the end of the series"
        );
    }
    takes(&mut rig, "corners", "Y", "0.3");
    finish(&mut rig, "corners").unwrap();
}

/// If a reading is outside the limits and machine Z contradicts it, the refusal is about the columns and not about the
/// limits, because the other column shows the typing mistake. Machine Z goes from -150 to -150.15, and 15 was typed for
/// -0.15.
#[test]
fn the_other_column_is_checked_before_the_limits() {
    let corners = "points: [A, B, C]\n        zero: way\n";
    assert!(TOUCHES.contains(corners));
    let limits =
        "        machine readings: yes\n        must: { at least: -5 mm, at most: 5 mm }\n";
    let text = TOUCHES.replacen(corners, &format!("{corners}{limits}"), 1);
    let mut rig = TestRun::of(&text);
    rig.word(at("cutter"), "c12").unwrap();
    rig.word(at("way"), "fixed").unwrap();
    let both = |readout: &str, machine: &str| Reading {
        readout: Some(length(readout)),
        machine: Some(length(machine)),
    };
    touches(&mut rig, "corners", "A", both("0", "-150"), false).unwrap();
    let refused = touches(&mut rig, "corners", "B", both("15", "-150.15"), false);
    assert!(matches!(refused, Err(Refusal::Touch(_))), "{refused:?}");
    // If the columns agree, the limits decide.
    let refused = touches(&mut rig, "corners", "B", both("15", "-135"), false);
    assert!(matches!(refused, Err(Refusal::Hard(_))), "{refused:?}");
}

#[test]
fn points_that_the_operator_names_come_in_any_order_and_are_not_closed() {
    let mut rig = rig("fixed");
    corners(&mut rig);
    rig.work_out(at("found"));
    assert_eq!(next(&rig, "lows"), NextTouch::Any);
    assert_eq!(
        due_instead(&mut rig, "lows", "L1", true),
        "the end of the series"
    );
    takes(&mut rig, "lows", "L1", "-0.3");
    assert_eq!(next(&rig, "lows"), NextTouch::Any);
    takes(&mut rig, "lows", "A", "0");
    finish(&mut rig, "lows").unwrap();
    // It continues from the corners: the surface has their heights too.
    let heights = rig.state.marks.surface();
    assert_eq!(heights.heights().of("B"), Some(length("0.1")));
    assert_eq!(heights.heights().of("L1"), Some(length("-0.3")));
}

#[test]
fn a_point_that_is_touched_twice_is_due_twice() {
    let mut rig = rig("fixed");
    corners(&mut rig);
    rig.work_out(at("found"));
    takes(&mut rig, "lows", "L1", "-0.3");
    finish(&mut rig, "lows").unwrap();
    for (point, readout) in [("D", "0"), ("D", "0.01"), ("E", "0.1")] {
        assert_eq!(next(&rig, "pairs"), NextTouch::Point(point.into()));
        takes(&mut rig, "pairs", point, readout);
    }
    assert!(matches!(
        finish(&mut rig, "pairs"),
        Err(Refusal::TouchesOpen)
    ));
    takes(&mut rig, "pairs", "E", "0.1");
    finish(&mut rig, "pairs").unwrap();
    // Heights count from its own first touch and are not compared with the previous series.
    let surface = rig.state.marks.surface();
    let heights = surface.heights();
    let known: Vec<&str> = heights.points().iter().map(|p| p.point.as_str()).collect();
    assert_eq!(known, ["D", "E"]);
    assert_eq!(surface.spread(), Some(length("0.095")));
}

#[test]
fn a_lower_point_must_be_zeroed_before_anything_else_is_touched() {
    let mut rig = rig("running");
    takes(&mut rig, "corners", "A", "0");
    takes(&mut rig, "corners", "B", "-0.1");
    assert_eq!(next(&rig, "corners"), NextTouch::Zero("B".into()));
    let zero = "the readout to be zeroed at B";
    for (point, closing) in [("C", false), ("X", false), ("B", false), ("A", true)] {
        assert_eq!(due_instead(&mut rig, "corners", point, closing), zero);
    }
    let zeroed = |shows: &str| Command::Zeroed {
        at: at("corners"),
        shows: q(shows),
    };
    assert!(matches!(
        rig.try_do(zeroed("-0.1")),
        Err(Refusal::NotZeroed { .. })
    ));
    rig.go(zeroed("0"));
    assert_eq!(next(&rig, "corners"), NextTouch::Point("C".into()));
    assert!(rig.try_do(zeroed("0")).is_err());
}

#[test]
fn a_series_is_read_the_way_that_was_chosen() {
    for (way, mode) in [
        ("running", ZeroMode::Running),
        ("fixed", ZeroMode::Fixed),
        ("machine", ZeroMode::Machine),
    ] {
        let mut rig = rig(way);
        let reading = match mode {
            ZeroMode::Machine => Reading {
                readout: None,
                machine: Some(length("-151.4")),
            },
            _ => shows("0"),
        };
        touches(&mut rig, "corners", "A", reading, false).unwrap();
        assert_eq!(rig.state.touching.as_ref().unwrap().mode(), mode);
    }
}

#[test]
fn a_removed_reading_makes_its_point_due_again() {
    let mut rig = rig("fixed");
    takes(&mut rig, "corners", "A", "0");
    takes(&mut rig, "corners", "B", "0.1");
    assert_eq!(next(&rig, "corners"), NextTouch::Point("C".into()));
    rig.go(Command::TakeBack { at: at("corners") });
    assert_eq!(next(&rig, "corners"), NextTouch::Point("B".into()));
}

#[test]
fn touching_a_finished_series_again_invalidates_it_and_what_depends_on_it_once() {
    let voided = |events: &[Event]| {
        events.iter().find_map(|event| match event {
            Event::Voided { steps, .. } => Some(steps.clone()),
            _ => None,
        })
    };
    let restart = Command::RestartTouches { at: at("corners") };
    let mut rig = rig("fixed");
    // There is no answer yet that could become invalid.
    assert_eq!(voided(&rig.go(restart.clone())), None);
    let first = takes(&mut rig, "corners", "A", "0");
    assert_eq!(voided(&first), None);
    assert_eq!(voided(&rig.go(restart.clone())), None);
    corners(&mut rig);
    rig.work_out(at("found"));

    let invalidated = voided(&takes(&mut rig, "corners", "A", "0")).unwrap();
    assert!(invalidated.contains(&at("corners")) && invalidated.contains(&at("found")));
    assert!(!invalidated.contains(&at("way")) && !invalidated.contains(&at("cutter")));
    assert!(rig.state.answer(&at("found")).is_none());
    // The heights of the old series are removed with it.
    assert!(rig.state.marks.surface().heights().of("C").is_none());
    // The second touch of the new series invalidates nothing more.
    assert_eq!(voided(&takes(&mut rig, "corners", "B", "0.1")), None);

    takes(&mut rig, "corners", "C", "-0.2");
    touches(&mut rig, "corners", "A", shows("0"), true).unwrap();
    finish(&mut rig, "corners").unwrap();
    let invalidated = voided(&rig.go(restart)).unwrap();
    assert!(invalidated.contains(&at("corners")));
    assert!(rig.state.marks.surface().heights().points().is_empty());
    assert_eq!(next(&rig, "corners"), NextTouch::Point("A".into()));
}

#[test]
fn an_open_series_becomes_invalid_with_what_it_depends_on() {
    let mut rig = rig("fixed");
    takes(&mut rig, "corners", "A", "0");
    // The way of reading changes.
    rig.word(at("way"), "running").unwrap();
    assert!(rig.state.touching.is_none());
    assert_eq!(next(&rig, "corners"), NextTouch::Point("A".into()));
}

#[test]
fn going_back_to_a_finished_series_invalidates_it_even_while_another_is_under_way() {
    let mut rig = rig("fixed");
    corners(&mut rig);
    rig.work_out(at("found"));
    takes(&mut rig, "lows", "L1", "-0.3");
    let events = takes(&mut rig, "corners", "A", "0");
    let Some(Event::Voided { steps, .. }) = events.first() else {
        panic!("{events:?}");
    };
    assert!(steps.contains(&at("corners")) && steps.contains(&at("found")));
}

/// The plate in the test shop is 400 mm long and 250 mm wide.
#[test]
fn a_place_off_the_plate_is_refused() {
    let mut rig = TestRun::new();
    rig.prepare();
    let mut place = |point: &str, x: &str, y: &str| {
        rig.try_do(Command::Touch {
            at: at("corners"),
            point: point.into(),
            reading: shows("0"),
            closing: false,
            place: Some([length(x), length(y)]),
            accept: None,
        })
    };
    for (x, y) in [
        ("-0.1", "10"),
        ("10", "-0.1"),
        ("400.1", "10"),
        ("10", "250.1"),
    ] {
        assert!(
            matches!(place("P1", x, y), Err(Refusal::OffPlate { .. })),
            "{x}, {y}"
        );
    }
    // The edges belong to the plate.
    place("P1", "0", "0").unwrap();
    place("P2", "400", "250").unwrap();
}

/// One touch at a named point where the tip stays: it ends the series. A point that is known keeps its height, and `moved`
/// says how far this touch was off it; a new point becomes part of the surface.
#[test]
fn a_tip_that_stays_on_a_known_point_changes_no_height_and_on_a_new_one_adds_it() {
    let lows = "      - touch: lows\n";
    assert!(TOUCHES.contains(lows));
    let stays = "      - touch: stands\n        title: Where the tip stands\n        why: The entry counts from it.\n        \
                 points: named by the operator\n        zero: fixed\n        continues: corners\n        tip stays: yes\n";
    let text = TOUCHES.replacen(lows, &format!("{stays}{lows}"), 1);
    let begun = || {
        let mut rig = TestRun::of(&text);
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("way"), "fixed").unwrap();
        corners(&mut rig);
        rig.work_out(at("found"));
        rig
    };
    let result = |rig: &TestRun| match rig.state.answer(&at("stands")) {
        Some(super::answer::Answer::Touched(touched)) => touched.clone(),
        other => panic!("{other:?}"),
    };
    let mut known = begun();
    assert_eq!(next(&known, "stands"), NextTouch::Any);
    takes(&mut known, "stands", "B", "0.12");
    assert_eq!(next(&known, "stands"), NextTouch::Nothing);
    finish(&mut known, "stands").unwrap();
    assert_eq!(result(&known).moved, Some(length("0.02")));
    let surface = known.state.marks.surface();
    assert_eq!(surface.heights().of("B"), Some(length("0.1")));

    let mut new = begun();
    takes(&mut new, "stands", "LOW", "-0.25");
    finish(&mut new, "stands").unwrap();
    assert_eq!(result(&new).moved, None);
    let surface = new.state.marks.surface();
    assert_eq!(surface.heights().of("LOW"), Some(length("-0.25")));
}
