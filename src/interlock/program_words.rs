//! Tests: what a person reads in the program is checked against what its examination read. Invented figures.

use super::command::{Command, GivenAnswer};
use super::event::Event;
use super::examined::{Examined, Judged};
use super::refusal::Refusal;
use super::testing::{TINY, TestRun, at, length, q};
use crate::program::examine::Verdict;
use crate::quantity::{Dimension, Exact, Quantity};

/// Questions about the program, placed after the program step of the tiny procedure.
const QUESTIONS: &str = "
        says:
          unit: unit
          work offset: offset
          length offset: h
          lowest z: z
          speed: speed
          feed: feed
  - phase: program
    title: Program
    steps:
      - choose: unit
        title: Its unit
        why: Inches go deeper.
        options: { metric: millimetres, inch: inches }
      - choose: offset
        title: Its work offset
        why: Z is where that one has it.
        options: { G54: the first, G55: the second }
      - read: h
        title: Its length offset
        why: It moves Z.
        quantity: number
      - read: z
        title: Its lowest Z
        why: It lies on the plane.
        quantity: length
      - read: speed
        title: Its speed
        why: Too fast burns.
        quantity: spindle speed
      - read: feed
        title: Its feed
        why: Too fast breaks.
        quantity: feed
";

fn asking() -> TestRun {
    let text = TINY.replacen(
        "        rests on: [cutter]\n",
        &format!("        rests on: [cutter]{QUESTIONS}"),
        1,
    );
    let mut rig = TestRun::of(&text);
    rig.word(at("cutter"), "c12").unwrap();
    rig.word(at("eyes"), "worn").unwrap();
    rig.word(at("home"), "homed").unwrap();
    rig
}

fn examined() -> Examined {
    Examined {
        verdict: Judged::Agrees,
        found: Vec::new(),
        units: vec!["metric".into()],
        work_offsets: vec!["G54".into()],
        length_offsets: vec![1],
        speeds: vec![400_000],
        feeds: vec![25_000, 60_050],
        lowest_z: Some(length("-0.1")),
        facts: Vec::new(),
        seconds: None,
    }
}

fn file(rig: &TestRun, examined: Option<Examined>) -> GivenAnswer {
    GivenAnswer::File {
        path: "a.nc".into(),
        fingerprint: rig.program.unwrap(),
        bytes: 9,
        examined: examined.map(Box::new),
    }
}

fn loaded(examined: Option<Examined>) -> TestRun {
    let mut rig = asking();
    let said = file(&rig, examined);
    rig.say(at("nc"), said).unwrap();
    rig
}

/// A run in which everything before the question `step` is answered as in `examined`.
fn asked(step: &str, examined: Examined) -> TestRun {
    let right = [
        ("unit", GivenAnswer::Word("metric".into())),
        ("offset", GivenAnswer::Word("G54".into())),
        ("h", number(1)),
        ("z", GivenAnswer::Quantity(q("-0.1"))),
        ("speed", GivenAnswer::Quantity(q("4000 rpm"))),
    ];
    let mut rig = loaded(Some(examined));
    for (of, said) in right.into_iter().take_while(|(of, _)| *of != step) {
        rig.say(at(of), said).unwrap();
    }
    rig
}

fn number(n: i64) -> GivenAnswer {
    GivenAnswer::Quantity(Quantity {
        amount: Exact::whole(n),
        dimension: Dimension::RATIO,
    })
}

/// What was typed, what it is about, and what the program has.
fn refusal_parts(result: Result<Vec<Event>, Refusal>) -> (String, &'static str, String) {
    match result {
        Err(Refusal::NotInProgram { said, what, read }) => (said, what, read),
        other => panic!("{other:?}"),
    }
}

fn three(said: &str, what: &'static str, read: &str) -> (String, &'static str, String) {
    (said.to_owned(), what, read.to_owned())
}

#[test]
fn words_that_the_program_does_not_have_are_refused() {
    let mut rig = loaded(Some(examined()));
    let wrong = refusal_parts(rig.word(at("unit"), "inch"));
    assert_eq!(wrong, three("inch", "unit", "metric"));
    rig.word(at("unit"), "metric").unwrap();
    let wrong = refusal_parts(rig.word(at("offset"), "G55"));
    assert_eq!(wrong, three("G55", "work offset", "G54"));
    rig.word(at("offset"), "G54").unwrap();
    // For a word, one of several is enough. A choice that is not about the program is not compared with it.
    let several = Examined {
        work_offsets: vec!["G54".into(), "G55".into()],
        ..examined()
    };
    let mut rig = asked("offset", several);
    rig.word(at("offset"), "G55").unwrap();
    rig.word(at("cutter"), "c16").unwrap();
    let mut rig = loaded(Some(Examined {
        units: vec![],
        ..examined()
    }));
    let wrong = refusal_parts(rig.word(at("unit"), "inch"));
    assert_eq!(wrong, three("inch", "unit", "none"));
}

#[test]
fn a_length_offset_must_be_the_only_one_of_the_program() {
    let mut rig = asked("h", examined());
    for wrong in [0, 2] {
        let parts = refusal_parts(rig.say(at("h"), number(wrong)));
        assert_eq!(parts, three(&wrong.to_string(), "length offset", "1"));
    }
    rig.say(at("h"), number(1)).unwrap();
    let mut rig = asked(
        "h",
        Examined {
            length_offsets: vec![1, 2],
            ..examined()
        },
    );
    let parts = refusal_parts(rig.say(at("h"), number(1)));
    assert_eq!(parts, three("1", "length offset", "1, 2"));
    // Records made before length offsets were stored have none, so nothing is compared.
    let mut rig = asked(
        "h",
        Examined {
            length_offsets: vec![],
            ..examined()
        },
    );
    rig.say(at("h"), number(7)).unwrap();
}

/// Four decimals of an inch leave two thousandths of a millimetre open.
#[test]
fn the_lowest_z_is_the_programs_to_two_thousandths() {
    for (z, same) in [
        ("-0.1", true),
        ("-0.102", true),
        ("-0.098", true),
        ("-0.1021", false),
        ("-0.0979", false),
        ("0.1", false),
    ] {
        let mut rig = asked("z", examined());
        let result = rig.number(at("z"), z);
        if same {
            result.unwrap();
        } else {
            let (_, what, read) = refusal_parts(result);
            assert_eq!(what, "lowest z", "{z}");
            assert!(read.contains("-0.1"), "{read}");
        }
    }
    let mut rig = asked(
        "z",
        Examined {
            lowest_z: None,
            ..examined()
        },
    );
    rig.number(at("z"), "3").unwrap();
}

/// Rounding leaves a tenth of a revolution or of a millimetre per minute open.
#[test]
fn speed_and_feed_are_some_of_the_programs_to_a_tenth() {
    for (step, text, same) in [
        ("speed", "4000 rpm", true),
        ("speed", "4000.1 rpm", true),
        ("speed", "3999.9 rpm", true),
        ("speed", "4000.11 rpm", false),
        ("speed", "3999.89 rpm", false),
        ("feed", "250 mm/min", true),
        ("feed", "600.5 mm/min", true),
        ("feed", "0.6005 m/min", true),
        ("feed", "600 mm/min", false),
        ("feed", "601 mm/min", false),
    ] {
        let mut rig = asked(step, examined());
        let result = rig.number(at(step), text);
        if same {
            result.unwrap();
            continue;
        }
        let read = if step == "speed" {
            "4000 rpm"
        } else {
            "250, 600.50 mm/min"
        };
        let (_, what, has) = refusal_parts(result);
        assert_eq!((what, has.as_str()), (step, read), "{text}");
    }
    let mut rig = asked(
        "feed",
        Examined {
            feeds: vec![],
            ..examined()
        },
    );
    let wrong = refusal_parts(rig.number(at("feed"), "250 mm/min"));
    assert_eq!((wrong.1, wrong.2.as_str()), ("feed", "none"));
}

#[test]
fn nothing_is_compared_with_a_program_that_was_not_examined_or_not_followed() {
    let all = |rig: &mut TestRun| {
        rig.word(at("unit"), "inch").unwrap();
        rig.word(at("offset"), "G55").unwrap();
        rig.say(at("h"), number(7)).unwrap();
        rig.number(at("z"), "3").unwrap();
        rig.number(at("speed"), "1 rpm").unwrap();
        rig.number(at("feed"), "1 mm/min").unwrap();
    };
    all(&mut loaded(None));
    let unsure = Examined {
        verdict: Judged::CannotVouch,
        found: vec![("flow".into(), 1)],
        ..examined()
    };
    let mut rig = asking();
    let said = file(&rig, Some(unsure));
    rig.try_do(Command::Answer {
        at: at("nc"),
        said,
        accept: Some("proven in air".into()),
    })
    .unwrap();
    all(&mut rig);
}

/// Nobody can waive a finding that stops. Other findings, and a program that cannot be vouched for, need a reason, and
/// the codes are recorded.
#[test]
fn a_verdict_passes_needs_a_reason_or_is_refused() {
    let found = vec![("edge".to_owned(), 1), ("stops".to_owned(), 3)];
    for (verdict, words) in [
        (Verdict::Agrees, None),
        (
            Verdict::Look,
            Some("somebody must look at the program: edge, stops (3 times)"),
        ),
        (
            Verdict::CannotVouch,
            Some(
                "the examination cannot vouch for the program, because some of it cannot be followed: edge, stops (3 times)",
            ),
        ),
        (Verdict::Stop, None),
    ] {
        let judged = Judged::from(verdict);
        assert_eq!(judged.word(), verdict.word());
        let mut rig = asking();
        let is = Examined {
            verdict: judged,
            found: found.clone(),
            ..examined()
        };
        let with = |rig: &mut TestRun, reason: Option<&str>| {
            let said = file(rig, Some(is.clone()));
            rig.try_do(Command::Answer {
                at: at("nc"),
                said,
                accept: reason.map(str::to_owned),
            })
        };
        let bare = with(&mut rig, None);
        if verdict == Verdict::Agrees {
            bare.unwrap();
            continue;
        }
        assert_eq!(bare, Err(Refusal::Program(Box::new(is.clone()))));
        assert_eq!(with(&mut rig, Some("  ")), bare);
        let reasoned = with(&mut rig, Some(" seen "));
        let Some(words) = words else {
            assert_eq!(reasoned, bare);
            let against = is.against().unwrap();
            assert!(against.contains("must not be run as it is: edge, stops (3 times)"));
            continue;
        };
        let accepted = Event::Accepted {
            at: at("nc"),
            limit: words.to_owned(),
            reason: "seen".to_owned(),
            by: "JT".to_owned(),
            from: Some(crate::interlock::answer::Origin::Terminal),
        };
        assert!(reasoned.unwrap().contains(&accepted));
    }
}
