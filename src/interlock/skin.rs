//! Tests: the places of touched points, and the result of an inspection compared with what the touches made expected.
//! The figures are the worked example's; places and uncertainty are invented.

use super::command::{Command, GivenAnswer};
use super::event::{Event, InspectionResult};
use super::refusal::Refusal;
use super::testing::{SMALL, TestRun, at, length, pass, q};
use crate::plate::{
    Class, HeightUncertainty, Reading, TouchNeighbourhood, TouchedPlateError, UncertaintyKind,
    ZSetting,
};
use crate::quantity::Length;

/// The small procedure, with places for the points of its touch-off. The plate is 400 by 250 mm.
fn placed(places: &str) -> String {
    let text = SMALL.replacen(
        "        points: [P1, P2, P3, P4, P5]\n",
        &format!(
            "        points: [P1, P2, P3, P4, P5]\n        doubt: 0.02 mm\n        places: {places}\n"
        ),
        1,
    );
    assert_ne!(text, SMALL);
    text
}

const ALL: &str =
    "{ P1: [10%, 10%], P2: [90%, 10%], P3: [90%, 225 mm], P4: [40 mm, 90%], P5: [50%, 50%] }";

fn touched(procedure: &str) -> TestRun {
    let mut rig = TestRun::of(procedure);
    rig.prepare();
    rig.touch_off();
    rig
}

/// A run after the first cut of the worked example, at +0.01. Only P3 was above it.
fn cut(procedure: &str) -> TestRun {
    let mut rig = touched(procedure);
    rig.rough(1, "0", "0");
    rig.cut(pass("clear", 1));
    rig
}

fn inspect(rig: &mut TestRun, near: &[&str]) -> Result<Vec<Event>, Refusal> {
    let near = near.iter().map(|p| (*p).to_owned()).collect();
    rig.say(pass("look", 1), GivenAnswer::SkinLeft { near })
}

fn looked(events: &[Event]) -> Option<&InspectionResult> {
    events.iter().find_map(|e| match e {
        Event::Looked(looked) => Some(looked),
        _ => None,
    })
}

fn names(points: &[&str]) -> Vec<String> {
    points.iter().map(|p| (*p).to_owned()).collect()
}

fn around(rig: &TestRun, plane: Length) -> Vec<TouchNeighbourhood> {
    rig.state.land().unwrap().unwrap().around(plane).unwrap()
}

fn deepest(around: &[TouchNeighbourhood], near: &[&str]) -> Length {
    let of = |p: &&str| around.iter().find(|a| a.point == **p).unwrap();
    near.iter().map(|p| of(p).deepest.unwrap()).min().unwrap()
}

#[test]
fn the_place_of_a_point_is_as_typed_else_as_in_the_procedure() {
    let mut rig = TestRun::of(&placed("{ P1: [10%, 10%], P2: [350 mm, 10%] }"));
    rig.prepare();
    let size = [length("400"), length("250")];
    assert_eq!(rig.state.plate_size(), Some(size));
    rig.try_do(Command::Touch {
        at: at("corners"),
        point: "P1".into(),
        reading: Reading {
            readout: Some(length("0")),
            machine: None,
        },
        closing: false,
        place: Some([length("30"), length("20")]),
        accept: None,
    })
    .unwrap();
    assert_eq!(rig.state.place_of("P1"), Some([length("30"), length("20")]));
    assert_eq!(
        rig.state.place_of("P2"),
        Some([length("350"), length("25")])
    );
    assert_eq!(rig.state.place_of("P3"), None);
}

#[test]
fn three_points_with_a_place_define_a_surface_and_two_do_not() {
    for (places, surface) in [
        ("{ P1: [10%, 10%], P2: [90%, 10%] }", false),
        ("{ P1: [10%, 10%], P2: [90%, 10%], P5: [50%, 50%] }", true),
    ] {
        let rig = touched(&placed(places));
        let spots = rig.state.spots();
        assert_eq!(spots.len(), if surface { 3 } else { 2 });
        assert_eq!(
            (spots[1].point.as_str(), spots[1].height),
            ("P2", length("-0.12"))
        );
        assert_eq!(rig.state.land().is_some(), surface);
    }
    let line = touched(&placed(
        "{ P1: [10%, 50%], P2: [90%, 50%], P5: [50%, 50%] }",
    ));
    let refused = line.state.land().unwrap().map(|_| ());
    assert!(
        matches!(refused, Err(TouchedPlateError::Fit(_))),
        "{refused:?}"
    );
    // Without places there is no surface. The uncertainty is the same for every touch.
    assert!(touched(SMALL).state.land().is_none());
    let doubt = |rig: &TestRun| rig.state.touch_doubt();
    // The machine of the small shop has a readout step of 0.01 mm; whether it uses offsets is another key of the
    // machine.
    let limits = |text: &str| {
        let jog = length(text);
        let setting = ZSetting {
            jog,
            readout: length("0.01"),
            drift: None,
            offsets: false,
        };
        HeightUncertainty {
            touch: UncertaintyKind::Limits(jog),
            shared: UncertaintyKind::ZSetting(setting),
        }
    };
    assert_eq!(doubt(&touched(SMALL)), limits("0"));
    assert_eq!(doubt(&touched(&placed(ALL))), limits("0.02"));
}

#[test]
fn skin_near_a_place_that_was_not_touched_is_refused() {
    let mut rig = cut(&placed(ALL));
    let result = inspect(&mut rig, &["P2", "P9"]);
    let refusal = Refusal::NotTouched {
        said: "P9".into(),
        known: names(&["P1", "P2", "P3", "P4", "P5"]),
    };
    assert_eq!(result, Err(refusal));
}

#[test]
fn skin_is_compared_with_where_it_was_expected_and_the_next_plane_is_below_it() {
    let plane = length("0.01");
    let mut rig = cut(&placed(ALL));
    let all = around(&rig, plane);
    let of = |class: Class| -> Vec<String> {
        let there = all.iter().filter(|a| a.worst == class);
        there.map(|a| a.point.clone()).collect()
    };
    // By hand: all points except P3 are below +0.01, or within the uncertainty of it.
    assert!(of(Class::Stays).contains(&"P5".to_owned()));
    assert!(!of(Class::Stays).is_empty() && of(Class::Stays).len() < 5);

    // If the operator says where the skin is, that counts.
    let events = inspect(&mut rig, &["P4"]).unwrap();
    let expected = InspectionResult {
        at: pass("look", 1),
        plane,
        skin: names(&["P4"]),
        clean: false,
        stays: of(Class::Stays),
        unsure: of(Class::NotKnown),
        depth: plane.minus(deepest(&all, &["P4"])),
        next: Some(deepest(&all, &["P4"])),
        by: "JT".into(),
    };
    assert_eq!(looked(&events), Some(&expected));
    assert!(deepest(&all, &["P4"]) > deepest(&all, &["P4", "P2"]));

    let two = inspect(&mut rig, &["P4", "P2"]).unwrap();
    let next = looked(&two).unwrap().next;
    assert_eq!(next, Some(deepest(&all, &["P4", "P2"])));

    // If nobody says, the skin is assumed to be where it was expected.
    let events = inspect(&mut rig, &[]).unwrap();
    let stays = of(Class::Stays);
    let stays: Vec<&str> = stays.iter().map(String::as_str).collect();
    let found = looked(&events).unwrap();
    assert_eq!(found.skin, names(&[]));
    assert_eq!(found.next, Some(deepest(&all, &stays)));
}

#[test]
fn a_clean_surface_needs_no_next_plane() {
    let mut rig = cut(&placed(ALL));
    let events = rig
        .try_do(Command::Answer {
            at: pass("look", 1),
            said: GivenAnswer::Word("clean".into()),
            accept: Some("the low places are a pocket".into()),
        })
        .unwrap();
    let found = looked(&events).unwrap();
    assert!(found.clean && found.next.is_none() && found.depth.is_none());
    let events = rig.word(pass("look", 1), "skin left").unwrap();
    let found = looked(&events).unwrap();
    assert!(!found.clean && found.next.is_some());
}

/// Without places nothing was expected: the named points are recorded, and nothing is estimated.
#[test]
fn without_places_only_the_named_points_are_recorded() {
    let mut rig = cut(SMALL);
    assert_eq!(looked(&inspect(&mut rig, &[]).unwrap()), None);
    let events = inspect(&mut rig, &["P5"]).unwrap();
    let found = looked(&events).unwrap();
    assert_eq!(found.skin, names(&["P5"]));
    assert_eq!((&found.stays, &found.unsure), (&vec![], &vec![]));
    assert_eq!((found.depth, found.next), (None, None));
}

/// Two passes later every point was reached. The depth of skin named there is not known, and a plane above the cut
/// cannot be the next one.
#[test]
fn a_plane_that_reaches_everything_expects_no_skin() {
    let mut rig = cut(&placed(ALL));
    for n in 2..=3 {
        rig.word(pass("look", n - 1), "skin left").unwrap();
        rig.word(pass("low_places", n), "none").unwrap();
        rig.rough(n, "0.1", "0");
        rig.cut(pass("clear", n));
    }
    let near = GivenAnswer::SkinLeft {
        near: names(&["P3"]),
    };
    let events = rig.say(pass("look", 3), near).unwrap();
    let found = looked(&events).unwrap();
    assert_eq!(found.plane, Length::exactly(q("-0.27")).unwrap());
    assert_eq!(found.stays, names(&[]));
    // P3 was 0.19 high: all skin that may be there is above the plane just cut.
    assert_eq!((found.next, found.depth), (None, None));
}
