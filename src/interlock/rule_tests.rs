//! Tests of the interlock's rules over the small procedure.

use super::answer::{Answer, Origin};
use super::answer_status::{AnswerStatus, Next};
use super::command::{Command, GivenAnswer};
use super::elsewhere::Elsewhere;
use super::event::{Event, PlateKnown};
use super::gate::{self, Hold, HoldReason};
use super::instance::Instance;
use super::refusal::Refusal;
use super::stopping::{Cause, CutEnd, MachineContinuity};
use super::testing::{
    SMALL, TestRun, at, ended, length, pass, q, ready, ready_with, reasons, resume,
};
use crate::fingerprint::Fingerprint;
use crate::quantity::moment::Moment;
use std::sync::Arc;

fn released() -> TestRun {
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    rig
}

fn later(at: Moment, ms: i64) -> Moment {
    at.plus_ms(ms).unwrap()
}

/// The next question, which was answered before.
fn asked_again(rig: &TestRun) -> Instance {
    match rig.state.next(rig.now) {
        Next::Ask(of, AnswerStatus::Invalidated { .. }) => of,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_release_is_for_one_cut_on_one_state_and_for_one_person() {
    let rig = released();
    assert_eq!(reasons(&rig), []);
    let given = rig.state.release.clone().unwrap();
    for other in 0..3 {
        let mut rig = released();
        let release = rig.state.release.as_mut().unwrap();
        match other {
            0 => release.at = pass("pass_cut", 2),
            1 => release.digest = Fingerprint::of("another state"),
            _ => release.to = "MK".into(),
        }
        assert_ne!(rig.state.release.as_ref(), Some(&given));
        assert_eq!(reasons(&rig), [HoldReason::ReleasedOther], "{other}");
        assert!(matches!(rig.start(), Err(Refusal::Held(_))), "{other}");
    }
}

#[test]
fn a_release_is_valid_from_its_first_moment_to_its_last_one() {
    let mut rig = released();
    let given = rig.state.release.clone().unwrap();
    for (now, good) in [
        (given.from, true),
        (given.until, true),
        (later(given.until, 1), false),
        (later(given.from, -1), false),
    ] {
        rig.now = now;
        let lapsed = reasons(&rig)
            .iter()
            .any(|w| matches!(w, HoldReason::Lapsed { .. }));
        assert_eq!(!lapsed, good, "{now}");
        // The exact time of the last event is not before it.
        assert!(!good || reasons(&rig).is_empty(), "{now}");
    }
    // The release lasts five minutes in the small procedure.
    assert_eq!(given.until.since(given.from), Some(300_000));
}

/// Every reason to hold shows its step, its cause and what clears it.
#[test]
fn every_reason_to_hold_says_what_it_is_and_what_clears_it() {
    let show = TestRun::new().state.show();
    let now = TestRun::new().now;
    let words_of = |why: HoldReason| {
        let hold = Hold {
            at: None,
            title: "Eye protection".into(),
            why,
        };
        (hold.words(&show), hold.clears())
    };
    let of_step = |standing| words_of(HoldReason::Step(standing));
    for (said, words, clears) in [
        (
            of_step(AnswerStatus::Open),
            "Eye protection: not answered",
            "walk",
        ),
        (
            of_step(AnswerStatus::SignedOtherState),
            "Eye protection: something changed since it was signed",
            "sign again",
        ),
        (
            of_step(AnswerStatus::Stale {
                since: now,
                fresh_for: q("2 h"),
            }),
            "Eye protection: answered more than",
            "walk",
        ),
        (
            words_of(HoldReason::ProgramChanged),
            "bytes changed",
            "put the old file back",
        ),
        (
            words_of(HoldReason::ProgramGone),
            "cannot be read",
            "put the old file back",
        ),
        (
            words_of(HoldReason::NotReleased),
            "not released",
            "ask for the release again",
        ),
        (
            words_of(HoldReason::Lapsed { until: now }),
            "lapsed",
            "ask for the release again",
        ),
        (
            words_of(HoldReason::ReleasedOther),
            "another state",
            "ask for the release again",
        ),
        (
            words_of(HoldReason::ClockBack { latest: now }),
            "the clock shows a time before",
            "clock right",
        ),
        (
            words_of(HoldReason::Left {
                how: "Ctrl-C".into(),
            }),
            "the run was left (Ctrl-C)",
            "resume the run",
        ),
        (
            words_of(HoldReason::Over),
            "the run is over",
            "begin a new run",
        ),
        (
            words_of(HoldReason::NoCutLeft),
            "no cut is left",
            "begin a new run",
        ),
        (
            words_of(HoldReason::CutUnderWay),
            "a cut is under way",
            "how it ended",
        ),
        (
            words_of(HoldReason::Exhausted),
            "every pass is used up",
            "inspect again",
        ),
        (
            words_of(HoldReason::Rehearsal),
            "rehearsal",
            "walk a real run",
        ),
    ] {
        assert!(said.0.contains(words), "{said:?}");
        assert!(said.1.contains(clears), "{said:?}");
    }
    assert_eq!(
        [gate::reasons(1), gate::reasons(3)],
        ["1 reason", "3 reasons"]
    );
}

/// The small procedure with a check at the machine before each roughing cut.
fn with_a_look() -> String {
    let look = "      - confirm: tight\n        title: All tight\n        why: It was set up by hand.\n        \
                answer: tight\n        wrong: [loose]\n        rests on: [entry]\n";
    let text = SMALL.replacen(
        "      - sign: clear\n",
        &format!("{look}      - sign: clear\n"),
        1,
    );
    assert_ne!(text, SMALL);
    text
}

/// After a cut that did not run to its end, nobody knows what is still tight, so it is checked and signed again.
/// Answers outside the pass, and measurements in it, stay valid.
#[test]
fn a_stopped_cut_invalidates_what_was_checked_at_the_machine() {
    for how in [CutEnd::Stopped, CutEnd::EmergencyStop] {
        for by_word in [false, true] {
            let mut rig = ready_with(&with_a_look());
            rig.word(pass("tight", 1), "tight").unwrap();
            rig.sign(pass("clear", 1)).unwrap();
            rig.release().unwrap();
            rig.start().unwrap();
            let cause = match how {
                CutEnd::EmergencyStop => Cause::EmergencyStop,
                _ => Cause::SomethingSeen,
            };
            let events = if by_word {
                rig.go(Command::Stop {
                    cause,
                    reason: "noise".into(),
                })
            } else {
                rig.go(ended(how))
            };
            let invalidated: Vec<Instance> = events
                .iter()
                .filter_map(|e| match e {
                    Event::Voided { steps, .. } => Some(steps.clone()),
                    _ => None,
                })
                .flatten()
                .collect();
            if how == CutEnd::EmergencyStop {
                // Heights and the entry are asked again too, although the procedure does not mark them.
                for of in [
                    at("corners"),
                    pass("entry", 1),
                    pass("tight", 1),
                    pass("clear", 1),
                ] {
                    assert_eq!(invalidated.iter().filter(|f| **f == of).count(), 1, "{of}");
                }
                assert!(!invalidated.contains(&at("eyes")));
                assert_eq!(asked_again(&rig), at("corners"));
                continue;
            }
            assert_eq!(
                invalidated,
                [pass("tight", 1), pass("clear", 1)],
                "{by_word}"
            );
            if by_word {
                rig.go(resume("JT"));
            }
            assert_eq!(asked_again(&rig), pass("tight", 1));
            assert!(matches!(
                rig.sign(pass("clear", 1)),
                Err(Refusal::OutOfOrder { .. })
            ));
            rig.word(pass("tight", 1), "tight").unwrap();
            assert_eq!(asked_again(&rig), pass("clear", 1));
            rig.cut(pass("clear", 1));
        }
    }
}

/// When Z is set again the tip has been moved, so what was checked over the old entry is checked again.
#[test]
fn setting_z_again_asks_again_what_was_checked_over_the_old_entry() {
    let mut rig = ready_with(&with_a_look());
    rig.word(pass("tight", 1), "tight").unwrap();
    rig.sign(pass("clear", 1)).unwrap();
    rig.number(pass("standing", 1), "0.02").unwrap();
    assert_eq!(asked_again(&rig), pass("entry", 1));
    let of = pass("entry", 1);
    let entry = rig.state.env(&of);
    let Some(crate::procedure::Kind::Enter(enter)) =
        rig.state.step(&pass("entry", 1)).map(|s| &s.kind)
    else {
        panic!("no entry");
    };
    let value = entry.quantity(&enter.value).unwrap();
    rig.say(pass("entry", 1), GivenAnswer::Quantity(value))
        .unwrap();
    assert_eq!(asked_again(&rig), pass("tight", 1));
    rig.word(pass("tight", 1), "tight").unwrap();
    assert_eq!(asked_again(&rig), pass("clear", 1));
    // Answers that do not depend on Z stay valid.
    assert!(rig.state.answer(&at("eyes")).is_some());
    assert_eq!(
        rig.state
            .answer(&pass("clearance", 1))
            .and_then(Answer::value),
        Some(crate::procedure::formula::Value::Quantity(q("0")))
    );
}

/// The plate's account replaces the shop file's figures: what depended on the old figures becomes invalid, the choice
/// of the plate stays valid.
#[test]
fn the_figures_of_the_plates_account_count_from_then_on() {
    // Worked by hand in millimetres: plane 0.01, highest touch 0.19, steel 6 deep by the shop file: 0.01 - (0.19 - 6) = 5.82;
    // 2 deep by the account: 1.82.
    let over_steel = pass("over_steel", 1);
    let known = PlateKnown {
        plate: "bed-a".into(),
        thickness: length("18"),
        steel_depth: length("2"),
        entry: 7,
    };
    let mut rig = ready();
    assert_eq!(rig.work_out(over_steel.clone()), q("5.82"));
    rig.rough(1, "0", "0");
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    let events = rig.go(Command::KnowPlate(known.clone()));
    let [Event::Voided { steps, .. }, Event::PlateKnown(words_of)] = events.as_slice() else {
        panic!("{events:?}");
    };
    assert_eq!(*words_of, known);
    assert!(steps.contains(&over_steel) && steps.contains(&at("corners")));
    assert!(!steps.contains(&at("plate")) && !steps.contains(&at("eyes")));
    assert!(rig.state.release.is_none());
    // The same account a second time changes nothing.
    assert_eq!(rig.go(Command::KnowPlate(known.clone())), []);
    rig.touch_off();
    rig.rough(1, "0", "0");
    let answer = rig.state.answer(&over_steel).cloned();
    assert_eq!(answer, Some(Answer::Quantity(q("1.82"))));
    // The account of another plate does not count for this one.
    let other = PlateKnown {
        plate: "bed-b".into(),
        ..known
    };
    rig.go(Command::KnowPlate(other));
    rig.touch_off();
    rig.rough(1, "0", "0");
    let answer = rig.state.answer(&over_steel).cloned();
    assert_eq!(answer, Some(Answer::Quantity(q("5.82"))));
}

#[test]
fn a_release_recorded_for_longer_than_its_step_allows_is_not_valid() {
    let mut rig = released();
    let release = rig.state.release.as_mut().unwrap();
    release.until = later(release.until, 1);
    assert_eq!(reasons(&rig), [HoldReason::ReleasedTooLong]);
    assert!(matches!(rig.start(), Err(Refusal::Held(_))));
}

#[test]
fn a_run_with_an_answer_from_a_file_is_never_released_and_only_assumes_cuts() {
    let assume = |rig: &mut TestRun| {
        rig.try_do(Command::AssumeCut {
            program: rig.program,
            people: Arc::default(),
        })
    };
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    assert!(matches!(assume(&mut rig), Err(Refusal::Held(_))));
    // A run resumed from a file: everything is answered at a terminal, and the file names the operator.
    rig.go(Command::Resume {
        by: "JT".into(),
        from: Origin::AnswersFile,
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    });
    rig.sign(pass("clear", 1)).unwrap();
    assert!(
        matches!(rig.release(), Err(Refusal::Held(holds)) if holds[0].why == HoldReason::FromFile)
    );
    assert!(reasons(&rig).contains(&HoldReason::FromFile));
    // Resumed at a terminal it is still held, and no cut is assumed there.
    rig.go(Command::Resume {
        by: "JT".into(),
        from: Origin::Terminal,
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    });
    rig.sign(pass("clear", 1)).unwrap();
    assert!(reasons(&rig).contains(&HoldReason::FromFile));
    assert!(
        matches!(assume(&mut rig), Err(Refusal::Held(holds)) if holds[0].why == HoldReason::NotFromFile)
    );
    rig.go(Command::Resume {
        by: "JT".into(),
        from: Origin::AnswersFile,
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    });
    rig.sign(pass("clear", 1)).unwrap();
    let events = assume(&mut rig).unwrap();
    assert!(matches!(events[..], [Event::CutAssumed { .. }]));
    let events = rig.go(ended(CutEnd::Finished));
    assert_eq!(events[0].origin(), Some(Origin::AnswersFile));
}

/// An answers file cannot know how a cut ended that a person started.
#[test]
fn a_cut_that_a_person_started_is_not_continued_from_a_file() {
    let mut rig = released();
    rig.start().unwrap();
    let resume = |from| Command::Resume {
        by: "JT".into(),
        from,
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    };
    let refused = rig.try_do(resume(Origin::AnswersFile));
    assert_eq!(refused, Err(Refusal::CutUnderWay));
    rig.go(resume(Origin::Terminal));
}
