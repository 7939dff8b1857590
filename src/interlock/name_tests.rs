//! Tests: the meaning of names in formulas, what a sign-off covers, what is asked and what is history, and the words of
//! every event and refusal.

use super::command::Command;
use super::event::{Event, PlateKnown};
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::stopping::CutEnd;
use super::testing::{TestRun, at, ended, length, pass, q};
use crate::procedure::formula::{Env, Reference, TouchedSurface, Value};

fn name(head: &str, tail: Option<&str>) -> Reference {
    Reference {
        head: head.into(),
        tail: tail.map(str::to_owned),
    }
}

fn touched() -> TestRun {
    let mut rig = TestRun::new();
    rig.prepare();
    rig.touch_off();
    rig
}

/// Two roughing passes: the first cut with skin left, the second up to its entry.
fn second_pass() -> TestRun {
    let mut rig = touched();
    rig.rough(1, "0", "0");
    rig.cut(pass("clear", 1));
    rig.word(pass("look", 1), "skin left").unwrap();
    rig.word(pass("low_places", 2), "none").unwrap();
    rig.rough(2, "0", "0");
    rig
}

#[test]
fn a_name_means_the_same_pass_where_both_repeat_together_else_the_latest() {
    let rig = second_pass();
    let state = &rig.state;
    assert_eq!(
        state.referred("plane", &pass("entry", 1)),
        Some(pass("plane", 1))
    );
    assert_eq!(
        state.referred("plane", &pass("entry", 2)),
        Some(pass("plane", 2))
    );
    // The finishing pass is another kind of pass: the first one follows the last roughing pass.
    assert_eq!(
        state.referred("plane", &pass("skim", 1)),
        Some(pass("plane", 2))
    );
    assert_eq!(state.referred("eyes", &pass("skim", 1)), Some(at("eyes")));

    let first = state.answer(&pass("plane", 1)).unwrap().value();
    let second = state.answer(&pass("plane", 2)).unwrap().value();
    assert_ne!(first, second);
    let plane = name("plane", None);
    assert_eq!(state.env(&pass("entry", 1)).value_of(&plane), first);
    assert_eq!(state.env(&pass("skim", 1)).value_of(&plane), second);
    assert_eq!(state.env(&pass("entry", 2)).previous("plane"), first);
    assert_eq!(state.env(&pass("entry", 1)).previous("plane"), None);
}

#[test]
fn the_surface_and_the_steps_own_value_have_names() {
    let rig = touched();
    let here = pass("plane", 1);
    // The worked example: 0, -0.12, 0.31 - 0.12, 0.08 - 0.12, -0.05 - 0.12.
    for (which, expected) in [("highest", "0.19"), ("lowest", "-0.17"), ("spread", "0.36")] {
        let value = rig.state.env(&here).value_of(&name("surface", Some(which)));
        assert_eq!(value, Some(Value::Quantity(q(expected))), "{which}");
    }
    // The nearest of these five points; halfway between two, the one touched first.
    for (to, expected) in [
        ("-0.04", "-0.04"),
        ("0.3", "0.19"),
        ("-0.1", "-0.12"),
        ("-9", "-0.17"),
    ] {
        let near = rig.state.env(&here).touched_near(length(to));
        assert_eq!(near, Some(length(expected)), "{to}");
    }
    let own = Value::Quantity(q("0.3"));
    let value = name("value", None);
    assert_eq!(rig.state.env(&here).value_of(&value), None);
    let with = rig.state.env(&here).with_value(own.clone());
    assert_eq!(with.value_of(&value), Some(own));
}

#[test]
fn the_account_of_a_plate_counts_for_that_plate_only() {
    let mut rig = touched();
    let thickness = name("plate", Some("thickness"));
    let steel = name("plate", Some("steel_depth"));
    let least = name("plate", Some("least_thickness"));
    let of = |rig: &TestRun, fact: &Reference| rig.state.env(&at("found")).value_of(fact);
    let mm = |text: &str| Some(Value::Quantity(q(text)));
    assert_eq!(of(&rig, &thickness), mm("20"));
    let known = PlateKnown {
        plate: "bed-b".into(),
        thickness: length("18"),
        steel_depth: length("2"),
        entry: 7,
    };
    rig.state.known = Some(known.clone());
    assert_eq!(of(&rig, &thickness), mm("20"));
    rig.state.known = Some(PlateKnown {
        plate: "bed-a".into(),
        ..known
    });
    assert_eq!(of(&rig, &thickness), mm("18"));
    assert_eq!(of(&rig, &steel), mm("2"));
    assert_eq!(of(&rig, &least), mm("15"));
}

#[test]
fn a_sign_off_covers_everything_before_it_and_nothing_after() {
    let clear = pass("clear", 1);
    let digest = |speed: &str, remark: bool| {
        let mut rig = TestRun::new();
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("plate"), "bed-a").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), "homed").unwrap();
        let early = rig.state.digest_before(&at("speed"));
        rig.number(at("speed"), speed).unwrap();
        assert_eq!(rig.state.digest_before(&at("speed")), early);
        if remark {
            rig.number(at("warm"), "5 s").unwrap();
        }
        (
            early,
            rig.state.digest_before(&at("warm")),
            rig.state.digest_before(&clear),
        )
    };
    let (early, warm, whole) = digest("3000 rpm", false);
    let (other_early, other_warm, other_whole) = digest("3001 rpm", false);
    assert_eq!(early, other_early);
    assert!(warm != other_warm && whole != other_whole && early != warm);
    let (_, warm_again, later) = digest("3000 rpm", true);
    assert_eq!(warm, warm_again);
    assert_ne!(whole, later);
}

#[test]
fn what_is_asked_follows_the_conditions() {
    let rig = second_pass();
    let asked: Vec<_> = rig
        .state
        .asked()
        .iter()
        .map(SequencePosition::instance)
        .collect();
    assert!(asked.contains(&at("eyes")) && asked.contains(&pass("low_places", 2)));
    // Asked only from the second pass on, and only if low places are to be touched.
    assert!(!asked.contains(&pass("low_places", 1)) && !asked.contains(&pass("lows", 2)));
    let places = rig.state.sequence();
    assert!(places.iter().any(|p| p.instance() == pass("lows", 2)));
    assert!(asked.len() < places.len());
}

#[test]
fn a_cut_is_history_once_it_ran_to_its_end_and_not_before() {
    let cut = pass("pass_cut", 1);
    let mut rig = touched();
    rig.rough(1, "0", "0");
    assert!(!rig.state.is_history(&cut));
    assert!(!rig.state.is_history(&pass("plane", 1)));
    rig.cut(pass("clear", 1));
    assert!(rig.state.is_history(&cut));
    assert!(rig.state.is_history(&pass("plane", 1)));
    // The inspection after the cut can still be answered differently.
    assert!(!rig.state.is_history(&pass("look", 1)));
    let again = rig.try_do(ended(CutEnd::Finished));
    assert!(matches!(again, Err(Refusal::NoCut)));
}

/// The word stored next to an event is the tag of its body, so a reader may use either.
#[test]
fn an_event_is_stored_under_the_tag_of_its_body() {
    let mut rig = second_pass();
    rig.go(Command::Note {
        text: "warm".into(),
    });
    let mut kinds: Vec<&str> = rig.events.iter().map(Event::kind).collect();
    for event in &rig.events {
        let body = serde_json::to_value(event).unwrap();
        let tag = match &body {
            serde_json::Value::Object(map) => map.keys().next().unwrap().clone(),
            other => other.as_str().unwrap().to_owned(),
        };
        assert_eq!(tag, event.kind());
    }
    kinds.sort_unstable();
    kinds.dedup();
    assert!(kinds.len() >= 7, "{kinds:?}");
}

/// A refusal names what was typed and what is needed instead. Only a soft one can be accepted with a reason.
#[test]
fn a_refusal_says_what_was_typed_and_what_is_needed() {
    let mut rig = touched();
    let show = rig.state.show();
    let refusal_has = |answer: Result<Vec<Event>, Refusal>, parts: &[&str], accepted: bool| {
        let refusal = answer.unwrap_err();
        let words = refusal.words(&show);
        for part in parts {
            assert!(words.contains(part), "`{part}` not in: {words}");
        }
        assert_eq!(refusal.can_be_accepted(), accepted, "{words}");
    };
    refusal_has(
        rig.word(at("eyes"), "in reach"),
        &["`in reach`", "hold here"],
        false,
    );
    refusal_has(rig.word(at("eyes"), "blue"), &["`blue`", "worn"], false);
    refusal_has(
        rig.number(pass("clearance", 1), "0.6"),
        &["0.6 mm", "0.5 mm", "waive"],
        false,
    );
    refusal_has(
        rig.number(pass("clearance", 1), "0.2"),
        &["0.2 mm", "0.15 mm"],
        true,
    );
    refusal_has(
        rig.number(pass("standing", 1), "0"),
        &["standing (pass 1)", "clearance (pass 1)"],
        false,
    );
    refusal_has(
        rig.word(at("machine"), "south"),
        &["`south`", "`north`"],
        false,
    );
}
