//! Tests: each kind of step accepts its own kind of answer and has its own limits.

use super::answer::{Answer, SigningMethod};
use super::answering::{initials, sign};
use super::command::{Command, GivenAnswer, Signing};
use super::event::Event;
use super::instance::Instance;
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::testing::{SMALL, TINY, TestRun, at, pass, q};

/// The small procedure up to the speed.
fn before_speed(procedure: &str) -> TestRun {
    let mut rig = TestRun::of(procedure);
    rig.word(at("cutter"), "c12").unwrap();
    rig.word(at("plate"), "bed-a").unwrap();
    rig.word(at("eyes"), "worn").unwrap();
    rig.word(at("home"), "homed").unwrap();
    rig
}

/// The small procedure up to the entry of Z.
fn before_entry() -> TestRun {
    let mut rig = TestRun::new();
    rig.prepare();
    rig.touch_off();
    rig.number(pass("clearance", 1), "0").unwrap();
    rig.work_out(pass("plane", 1));
    rig.work_out(pass("over_steel", 1));
    rig.number(pass("standing", 1), "0").unwrap();
    rig
}

fn changed(from: &str, to: &str) -> String {
    let text = SMALL.replacen(from, to, 1);
    assert_ne!(text, SMALL);
    text
}

fn with_reason(
    rig: &mut TestRun,
    of: Instance,
    said: GivenAnswer,
    reason: &str,
) -> Result<Vec<Event>, Refusal> {
    rig.try_do(Command::Answer {
        at: of,
        said,
        accept: Some(reason.into()),
    })
}

fn place<'a>(rig: &'a TestRun, of: &Instance) -> SequencePosition<'a> {
    let mut places = rig.state.sequence().into_iter();
    places.find(|p| p.instance() == *of).unwrap()
}

/// A quantity of another kind is refused even where no limit would catch it.
#[test]
fn a_quantity_of_another_kind_is_refused() {
    let mut rig = before_speed(SMALL);
    assert_eq!(rig.number(at("speed"), "1 mm"), Err(Refusal::WrongKind));
    rig.number(at("speed"), "3000 rpm").unwrap();
    assert_eq!(rig.number(at("warm"), "3000 rpm"), Err(Refusal::WrongKind));
    let mut rig = before_entry();
    let of = pass("standing", 1);
    assert_eq!(rig.number(of, "3000 rpm"), Err(Refusal::WrongKind));
    let of = pass("entry", 1);
    assert_eq!(rig.number(of.clone(), "-18%"), Err(Refusal::WrongKind));
    rig.number(of, "-0.18").unwrap();
}

/// The first cut of the worked example leaves P5 at 0.18 mm below its plane.
#[test]
fn a_surface_is_not_clean_where_a_touched_place_was_not_reached() {
    let mut rig = before_entry();
    rig.number(pass("entry", 1), "-0.18").unwrap();
    rig.cut(pass("clear", 1));
    let look = || pass("look", 1);
    let clean = || GivenAnswer::Word("clean".into());
    let Err(Refusal::Soft(broken)) = rig.say(look(), clean()) else {
        panic!("called clean");
    };
    assert_eq!((broken.value, broken.breach.bound), (q("-0.17"), q("0.01")));
    assert!(broken.because.unwrap().starts_with("P5 "));
    let blank = with_reason(&mut rig, look(), clean(), "  ");
    assert!(matches!(blank, Err(Refusal::Soft(_))), "{blank:?}");
    let events = with_reason(&mut rig, look(), clean(), " the pocket is there ").unwrap();
    assert!(matches!(
        events.last(),
        Some(Event::Accepted { reason, .. }) if reason == "the pocket is there"
    ));
    // Skin was to be expected here, so `skin left` needs no reason.
    rig.word(look(), "skin left").unwrap();
    assert!(rig.state.deviations.is_empty());
}

#[test]
fn what_must_agree_with_an_earlier_choice_must_be_that_word() {
    let choice = |id: &str, must: &str| {
        format!(
            "      - choose: {id}\n        title: Which unit\n        why: Both must use one.\n{must}        options:\n          \
             mm: millimetres\n          inch: inches\n"
        )
    };
    let control = "        must: { exactly: program_unit, because: one unit }\n";
    let two = choice("program_unit", "") + &choice("control_unit", control);
    let text = TINY.replacen(
        "      - program: nc\n",
        &format!("{two}      - program: nc\n"),
        1,
    );
    for (program, other) in [("mm", "inch"), ("inch", "mm")] {
        let mut rig = TestRun::of(&text);
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), "homed").unwrap();
        rig.word(at("program_unit"), program).unwrap();
        assert_eq!(
            rig.word(at("control_unit"), other),
            Err(Refusal::MustBe {
                said: other.into(),
                needed: program.into(),
                because: Some("one unit".into()),
            })
        );
        rig.word(at("control_unit"), program).unwrap();
    }
}

/// The wait is two seconds on the mill of the small procedure.
#[test]
fn a_wait_is_complete_or_shortened_with_a_reason_where_that_is_allowed() {
    let shorter = |rig: &mut TestRun, reason: &str| {
        let said = GivenAnswer::Quantity(q("1 s"));
        with_reason(rig, at("warm"), said, reason)
    };
    let ready = |text: &str| {
        let mut rig = before_speed(text);
        rig.number(at("speed"), "3000 rpm").unwrap();
        rig
    };
    let too_short = || {
        Err(Refusal::TooShort {
            ran: q("1 s"),
            wanted: q("2 s"),
        })
    };
    let mut rig = ready(SMALL);
    assert_eq!(rig.number(at("warm"), "1 s"), too_short());
    assert_eq!(shorter(&mut rig, "  "), too_short());
    let events = shorter(&mut rig, "warm from the last run").unwrap();
    assert!(matches!(
        events.last(),
        Some(Event::Accepted { limit, .. }) if limit == "at least 2 s"
    ));
    rig.number(at("warm"), "2 s").unwrap();
    assert!(rig.state.deviations.is_empty());
    let mut rig = ready(&changed("        may be shortened: yes\n", ""));
    assert_eq!(shorter(&mut rig, "warm from the last run"), too_short());
}

#[test]
fn initials_are_one_to_eight_letters_or_digits_in_capitals() {
    for (typed, kept) in [
        ("jt", Some("JT")),
        (" mk ", Some("MK")),
        ("a", Some("A")),
        ("abcdefg8", Some("ABCDEFG8")),
        ("abcdefgh9", None),
        ("", None),
        ("  ", None),
        ("j t", None),
        ("j.t", None),
        ("--", None),
    ] {
        assert_eq!(initials(typed).as_deref(), kept, "{typed:?}");
    }
}

/// A sign-off asked for out of order is refused, and the refusal names the open question before it.
#[test]
fn nothing_is_signed_while_an_earlier_question_is_open() {
    let try_it = |rig: &TestRun| {
        let place = place(rig, &pass("clear", 1));
        let with = Signing::default();
        sign(
            &rig.state,
            &place,
            "JT",
            SigningMethod::AnswersFile,
            &with,
            rig.now,
        )
    };
    let mut rig = before_entry();
    let Err(Refusal::Held(holds)) = try_it(&rig) else {
        panic!("signed");
    };
    let open: Vec<_> = holds.into_iter().filter_map(|h| h.at).collect();
    assert_eq!(open, [pass("entry", 1)]);
    rig.number(pass("entry", 1), "-0.18").unwrap();
    let events = try_it(&rig).unwrap();
    assert!(matches!(
        events.as_slice(),
        [Event::Answered {
            answer: Answer::Signed { .. },
            ..
        }]
    ));
}

/// The limits shown with a question are those that its answer is checked against.
#[test]
fn steps_that_ask_for_a_quantity_have_limits() {
    let entry = "        rests on: [nc]\n";
    let text = changed(
        entry,
        &format!("{entry}        must: {{ at most: 40 mm }}\n"),
    );
    let rig = TestRun::of(&text);
    let limits_shown = |of: Instance| {
        let limits = rig.state.limits_of(&place(&rig, &of))?;
        let mut all = rig.state.limit_words(&of, limits, &rig.state.show());
        all.truncate(1);
        all.pop()
    };
    for (of, words) in [
        (
            pass("clearance", 1),
            "must be at least 0 mm (0 in) and at most 0.5 mm",
        ),
        (pass("over_steel", 1), "must be at least 0.5 mm"),
        (at("corners"), "must be at least -5 mm"),
        (pass("entry", 1), "must be at most 40 mm"),
    ] {
        let found = limits_shown(of.clone()).unwrap();
        assert!(found.starts_with(words), "{of}: {found}");
    }
    assert!(rig.state.limits_of(&place(&rig, &at("eyes"))).is_none());
}
