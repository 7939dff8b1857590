//! Tests: whole runs through the interlock, and what each change invalidates.

use super::answer_status::{AnswerStatus, Next};
use super::command::{Command, GivenAnswer};
use super::elsewhere::Elsewhere;
use super::event::{Event, Outcome};
use super::examined::{Examined, Judged};
use super::gate::{self, HoldReason};
use super::refusal::Refusal;
use super::stopping::{Cause, CutEnd};
use super::testing::{SMALL, TestRun, at, ended, pass, q, resume};
use crate::fingerprint::Fingerprint;
use crate::quantity::moment::Moment;

fn ready() -> TestRun {
    let mut rig = TestRun::new();
    rig.prepare();
    rig.touch_off();
    rig.rough(1, "0", "0");
    rig
}

fn reasons(rig: &TestRun) -> Vec<HoldReason> {
    match gate::start(
        &rig.state,
        rig.now,
        rig.program,
        &crate::people::People::default(),
        gate::Requester::Holder,
    ) {
        Ok(_) => Vec::new(),
        Err(holds) => holds.into_iter().map(|h| h.why).collect(),
    }
}

/// The worked example of the design (invented figures, in millimetres): planes +0.01, -0.17, -0.29 and -0.37, entries
/// -0.18, 0.00, +0.05. The low place reads -0.07.
#[test]
fn the_worked_example_walks_through() {
    let mut rig = TestRun::new();
    rig.prepare();
    rig.touch_off();
    let (plane, entry) = rig.rough(1, "0", "0");
    assert_eq!((plane, entry), (q("0.01"), q("-0.18")));
    rig.cut(pass("clear", 1));
    rig.word(pass("look", 1), "skin left").unwrap();

    rig.word(pass("low_places", 2), "none").unwrap();
    // The first cut did not reach P5. Touched again, it is 0.18 below the new zero.
    let (plane, entry) = rig.rough(2, "0", "-0.18");
    assert_eq!((plane, entry), (q("-0.17"), q("0")));
    rig.cut(pass("clear", 2));
    rig.word(pass("look", 2), "skin left").unwrap();

    rig.word(pass("low_places", 3), "touch").unwrap();
    rig.touch(pass("lows", 3), "L1", "-0.07").unwrap();
    rig.go(Command::FinishTouches {
        at: pass("lows", 3),
    });
    let (plane, entry) = rig.rough(3, "0.05", "-0.07");
    assert_eq!((plane, entry), (q("-0.29"), q("0.05")));
    rig.cut(pass("clear", 3));
    rig.word(pass("look", 3), "clean").unwrap();

    rig.number(pass("skim", 1), "0.08").unwrap();
    assert_eq!(rig.work_out(pass("finish_plane", 1)), q("-0.37"));
    rig.number(pass("finish_standing", 1), "0").unwrap();
    rig.number(pass("finish_entry", 1), "0.08").unwrap();
    rig.cut(pass("clear_finish", 1));
    let surface = rig.state.marks.surface();
    let taken = |p: &str| surface.taken(p).unwrap().into();
    assert_eq!(
        (taken("P3"), taken("P5"), taken("L1")),
        (q("0.56"), q("0.20"), q("0.13"))
    );

    rig.say(at("remarks"), GivenAnswer::Text("all well".into()))
        .unwrap();
    assert_eq!(rig.state.next(rig.now), Next::Complete);
    rig.go(Command::End {
        outcome: Outcome::Complete,
    });
    assert_eq!(
        rig.try_do(Command::Note { text: "x".into() }),
        Err(Refusal::Over)
    );
}

#[test]
fn a_change_invalidates_exactly_what_depended_on_it() {
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    let events = rig.word(at("cutter"), "c16").unwrap();
    let Some(Event::Voided { steps, .. }) = events.first() else {
        panic!("{events:?}");
    };
    let invalidated: Vec<String> = steps.iter().map(ToString::to_string).collect();
    // The program, the touch-off, what was computed from them, the sign-off, and the readout's reading with the entry
    // made from it become invalid. Glasses and homing stay valid.
    assert_eq!(
        invalidated,
        [
            "speed",
            "nc",
            "corners",
            "found",
            "plane (pass 1)",
            "over_steel (pass 1)",
            "standing (pass 1)",
            "entry (pass 1)",
            "clear (pass 1)"
        ]
    );
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == at("speed")
    ));
}

#[test]
fn a_number_read_again_unchanged_invalidates_only_the_sign_off() {
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    let events = rig.number(at("speed"), "3000 rpm").unwrap();
    assert!(matches!(&events[0], Event::Voided { steps, .. } if steps == &[pass("clear", 1)]));
}

/// Homing again, or another cutter of the same kind: the words are the same, but the touches become invalid. If the
/// question came again only because time passed, nothing was done again.
#[test]
fn work_done_again_at_the_machine_invalidates_the_touches() {
    for (step, word) in [("home", "homed"), ("cutter", "c12"), ("plate", "bed-a")] {
        let mut rig = ready();
        let events = rig.word(at(step), word).unwrap();
        let Event::Voided { steps, because } = &events[0] else {
            panic!("{events:?}");
        };
        assert!(steps.contains(&at("corners")), "{step}: {steps:?}");
        assert!(because.ends_with("done again"), "{because}");
        assert_eq!(events.len(), 2);
        assert!(rig.state.answer(&at("corners")).is_none());
        assert!(rig.state.answer(&at(step)).is_some());
    }
    let mut rig = ready();
    rig.pass_time(3 * 3_600_000);
    let events = rig.word(at("eyes"), "worn").unwrap();
    assert_eq!(events.len(), 1, "{events:?}");
    assert!(rig.state.answer(&at("corners")).is_some());
}

/// A repeated check that finds a slipped cutter invalidates the answer that it is tight and the touches made with it. A
/// state which only says that nobody checked is refused.
#[test]
fn a_check_that_finds_the_cutter_loose_invalidates_the_touches() {
    let again = "      - confirm: tight
        title: Tried once more
        why: A pass shakes.
        answer: tight
        wrong: [it gave, not tried]
        undoes: [it gave]
        rests on: [home, corners]
      - read: clearance";
    let text = SMALL.replacen("      - read: clearance", again, 1);
    assert_ne!(text, SMALL);
    let mut rig = TestRun::of(&text);
    rig.prepare();
    rig.touch_off();
    let refused = rig.word(pass("tight", 1), "not tried");
    assert!(matches!(refused, Err(Refusal::NotTheState { .. })));
    assert!(rig.state.answer(&at("corners")).is_some());
    let events = rig.word(pass("tight", 1), "it gave").unwrap();
    let [Event::Voided { steps, because }] = events.as_slice() else {
        panic!("{events:?}");
    };
    assert_eq!(steps, &[at("home"), at("corners"), at("found")]);
    assert_eq!(because, "Tried once more: it gave");
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == at("home")
    ));
    // The check itself was never answered, so it is asked when all of that is answered again.
    assert!(rig.state.answer(&pass("tight", 1)).is_none());
}

#[test]
fn a_hard_limit_never_passes_and_a_soft_one_needs_a_reason() {
    let mut rig = TestRun::new();
    rig.prepare();
    rig.touch_off();
    let refused = rig.number(pass("clearance", 1), "0.6").unwrap_err();
    assert!(matches!(refused, Refusal::Hard(_)));
    let accept = |reason: &str| Command::Answer {
        at: pass("clearance", 1),
        said: GivenAnswer::Quantity(q("0.6")),
        accept: Some(reason.into()),
    };
    assert!(matches!(
        rig.try_do(accept("I want to")),
        Err(Refusal::Hard(_))
    ));
    let refused = rig.number(pass("clearance", 1), "0.2").unwrap_err();
    assert!(refused.can_be_accepted());
    let soft = |reason: &str| Command::Answer {
        at: pass("clearance", 1),
        said: GivenAnswer::Quantity(q("0.2")),
        accept: Some(reason.into()),
    };
    assert!(matches!(rig.try_do(soft("  ")), Err(Refusal::Soft(_))));
    rig.go(soft("deep scratches"));
    assert_eq!(
        rig.state.deviations[&pass("clearance", 1)].reason,
        "deep scratches"
    );
    // The reason does not cover another answer.
    rig.number(pass("clearance", 1), "0.1").unwrap();
    assert!(rig.state.deviations.is_empty());
}

#[test]
fn a_release_is_for_one_start_and_for_minutes() {
    let mut rig = ready();
    assert!(reasons(&rig).contains(&HoldReason::NotReleased));
    assert!(matches!(rig.start(), Err(Refusal::Held(_))));
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    assert!(reasons(&rig).is_empty());
    rig.pass_time(5 * 60_000);
    assert!(matches!(reasons(&rig)[..], [HoldReason::Lapsed { .. }]));
    rig.release().unwrap();
    rig.start().unwrap();
    assert!(matches!(rig.start(), Err(Refusal::CutUnderWay)));
    rig.go(ended(CutEnd::Finished));
    assert!(matches!(rig.start(), Err(Refusal::Held(_))));
}

#[test]
fn any_change_ends_the_release() {
    for change in [
        Command::Answer {
            at: at("home"),
            said: GivenAnswer::Word("homed".into()),
            accept: None,
        },
        Command::Pause {
            how: "Ctrl-C".into(),
        },
        Command::Stop {
            cause: Cause::SomethingSeen,
            reason: "visitor".into(),
        },
        Command::HandOver {
            to: "mk".into(),
            elsewhere: Elsewhere::default(),
        },
    ] {
        let mut rig = ready();
        rig.sign(pass("clear", 1)).unwrap();
        rig.release().unwrap();
        rig.go(change.clone());
        assert!(rig.state.release.is_none(), "{change:?}");
        assert!(matches!(rig.start(), Err(Refusal::Held(_))), "{change:?}");
    }
}

#[test]
fn a_changed_or_missing_program_holds_and_becomes_invalid() {
    for found in [Some(Fingerprint::of("other")), None] {
        let mut rig = ready();
        rig.sign(pass("clear", 1)).unwrap();
        rig.release().unwrap();
        rig.program = found;
        assert!(matches!(
            reasons(&rig)[..],
            [HoldReason::ProgramChanged | HoldReason::ProgramGone]
        ));
        let events = rig.go(Command::LookAtProgram { program: found });
        assert!(matches!(&events[1], Event::Voided { steps, .. }
            if steps.contains(&at("nc")) && steps.contains(&pass("clear", 1)) && !steps.contains(&at("corners"))));
    }
}

/// Nobody can use a program with a finding that stops. A program that somebody must look at, or that cannot be vouched
/// for, needs a reason, which is recorded. A program that agrees is accepted as it is.
#[test]
fn an_examination_holds_the_program_or_needs_a_reason() {
    for (verdict, bare, reasoned) in [
        (Judged::Agrees, true, true),
        (Judged::Look, false, true),
        (Judged::CannotVouch, false, true),
        (Judged::Stop, false, false),
    ] {
        for reason in [None, Some("  "), Some("seen on the machine")] {
            let mut rig = TestRun::new();
            rig.prepare();
            let examined = Examined {
                verdict,
                found: vec![("edge".to_owned(), 2)],
                units: vec!["metric".to_owned()],
                work_offsets: vec!["G54".to_owned()],
                length_offsets: vec![1],
                speeds: vec![300_000],
                feeds: vec![60_000],
                lowest_z: None,
                seconds: Some(90),
            };
            let result = rig.try_do(Command::Answer {
                at: at("nc"),
                said: GivenAnswer::File {
                    path: "a.nc".into(),
                    fingerprint: Fingerprint::of("nc"),
                    bytes: 9,
                    examined: Some(Box::new(examined.clone())),
                },
                accept: reason.map(str::to_owned),
            });
            let given = reason.is_some_and(|r| !r.trim().is_empty());
            assert_eq!(
                result.is_ok(),
                if given { reasoned } else { bare },
                "{verdict:?} {reason:?}"
            );
            match result {
                Ok(events) => {
                    assert_eq!(rig.state.examined(), Some(&examined));
                    let kept = events.iter().any(|e| {
                        matches!(e, Event::Accepted { limit, reason, .. }
                            if limit.contains("edge (2 times)") && reason == "seen on the machine")
                    });
                    assert_eq!(kept, verdict != Judged::Agrees);
                }
                Err(refusal) => {
                    assert_eq!(refusal.can_be_accepted(), verdict != Judged::Stop);
                    assert!(refusal.words(&rig.state.show()).contains("edge (2 times)"));
                }
            }
        }
    }
}

#[test]
fn what_is_asked_of_the_person_is_asked_of_the_next_one() {
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    rig.go(Command::HandOver {
        to: "mk".into(),
        elsewhere: Elsewhere::default(),
    });
    assert_eq!(rig.state.operator, "MK");
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::OtherPerson { .. }) if of == at("eyes")
    ));
    rig.word(at("eyes"), "worn").unwrap();
    assert!(matches!(
        rig.sign(pass("clear", 1)),
        Err(Refusal::OtherSigner { .. })
    ));
}

#[test]
fn stale_answers_are_asked_again_and_a_clock_that_went_back_makes_them_stale() {
    let mut rig = ready();
    rig.pass_time(3 * 3_600_000);
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Stale { .. }) if of == at("eyes")
    ));
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    rig.now = Moment::from_ms(rig.now.as_ms() - 90 * 60_000).unwrap();
    let why = reasons(&rig);
    assert!(
        why.contains(&HoldReason::Step(AnswerStatus::ClockWentBack)),
        "{why:?}"
    );
    assert!(
        why.iter()
            .any(|w| matches!(w, HoldReason::ClockBack { .. }))
    );
    assert!(why.iter().any(|w| matches!(w, HoldReason::Lapsed { .. })));
    // After an event at the new time, the old answers still count as stale.
    rig.go(Command::Note {
        text: "clock".into(),
    });
    assert!(reasons(&rig).contains(&HoldReason::Step(AnswerStatus::ClockWentBack)));
    rig.word(at("eyes"), "worn").unwrap();
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    assert!(reasons(&rig).is_empty());
}

#[test]
fn a_stopped_cut_is_signed_and_started_again() {
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(ended(CutEnd::Stopped));
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == pass("clear", 1)
    ));
    rig.cut(pass("clear", 1));
    assert_eq!(
        rig.state.next(rig.now),
        Next::Ask(pass("look", 1), AnswerStatus::Open)
    );
}

#[test]
fn an_entry_made_again_begins_with_the_reading_it_is_made_from() {
    // After the entry the readout's zero is at the plane. Used with that zero, the earlier reading would put the plane
    // 0.18 deeper than planned (computed by hand: 0.01 + 0 - 0.01 = 0 instead of -0.18).
    let mut rig = ready();
    rig.program = Some(Fingerprint::of("another"));
    let program = rig.program;
    rig.go(Command::LookAtProgram { program });
    rig.load_program();
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == pass("standing", 1)
    ));
    // The same figure as before is a new reading, because the tip has been lifted since.
    rig.number(pass("standing", 1), "-0.18").unwrap();
    rig.say(pass("entry", 1), GivenAnswer::Quantity(q("-0.18")))
        .unwrap();
    rig.number(pass("standing", 1), "-0.18").unwrap();
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == pass("entry", 1)
    ));
}

#[test]
fn nothing_of_a_cut_pass_can_be_changed() {
    let mut rig = ready();
    rig.cut(pass("clear", 1));
    rig.word(pass("look", 1), "skin left").unwrap();
    assert!(matches!(
        rig.number(pass("clearance", 1), "0.1"),
        Err(Refusal::History(_))
    ));
    // The touch-off is still needed for the next pass and can be made again; the heights then start again.
    rig.go(Command::RestartTouches { at: at("corners") });
    rig.touch_off();
    assert_eq!(rig.state.marks.surface().taken("P3").unwrap().counts(), 0);
}

#[test]
fn questions_are_answered_in_their_order() {
    let mut rig = TestRun::new();
    assert!(matches!(
        rig.word(at("home"), "homed"),
        Err(Refusal::OutOfOrder { .. })
    ));
    rig.word(at("cutter"), "c12").unwrap();
    assert!(matches!(
        rig.word(at("cutter"), "c99"),
        Err(Refusal::NotAnOption { .. })
    ));
    assert!(matches!(
        rig.word(at("plane"), "x"),
        Err(Refusal::OutOfOrder { .. })
    ));
    assert!(matches!(
        rig.number(at("plate"), "1"),
        Err(Refusal::WrongKind)
    ));
}

#[test]
fn the_machine_of_a_run_stays() {
    let mut rig = TestRun::new();
    assert!(matches!(
        rig.word(at("machine"), "south"),
        Err(Refusal::OtherMachine { .. })
    ));
    rig.word(at("machine"), "north").unwrap();
}

#[test]
fn a_wrong_sign_in_the_read_back_is_named() {
    let mut rig = TestRun::new();
    rig.prepare();
    rig.touch_off();
    rig.number(pass("clearance", 1), "0").unwrap();
    rig.work_out(pass("plane", 1));
    rig.work_out(pass("over_steel", 1));
    rig.number(pass("standing", 1), "0").unwrap();
    let refused = rig.number(pass("entry", 1), "0.18").unwrap_err();
    assert!(matches!(refused, Refusal::ReadBack { sign: true, .. }));
}

#[test]
fn when_every_pass_is_used_up_the_run_says_so() {
    let mut rig = ready();
    for n in 1..=4 {
        if n > 1 {
            rig.word(pass("low_places", n), "touch").unwrap();
            rig.touch(pass("lows", n), "L1", "-0.1").unwrap();
            rig.go(Command::FinishTouches {
                at: pass("lows", n),
            });
            rig.rough(n, "0", "-0.1");
        }
        rig.cut(pass("clear", n));
        rig.word(pass("look", n), "skin left").unwrap();
    }
    assert_eq!(rig.state.next(rig.now), Next::Exhausted(pass("look", 4)));
    assert!(reasons(&rig).contains(&HoldReason::Exhausted));
    rig.word(pass("look", 4), "clean").unwrap();
    assert!(matches!(rig.state.next(rig.now), Next::Ask(of, _) if of == pass("skim", 1)));
}

#[test]
fn a_rehearsal_never_releases() {
    let mut rig = ready();
    rig.state.begun.rehearsal = true;
    rig.sign(pass("clear", 1)).unwrap();
    assert!(matches!(rig.release(), Err(Refusal::Held(_))));
    assert!(reasons(&rig).contains(&HoldReason::Rehearsal));
}

#[test]
fn a_rehearsal_runs_the_practice_mill_and_nothing_else() {
    let mut rig = ready();
    rig.state.begun.rehearsal = true;
    let program = rig.program;
    assert!(matches!(
        rig.try_do(Command::PracticeRelease { program }),
        Err(Refusal::Held(_))
    ));
    rig.sign(pass("clear", 1)).unwrap();
    assert!(matches!(
        rig.try_do(Command::PracticeStart { program }),
        Err(Refusal::Held(_))
    ));
    rig.go(Command::PracticeRelease { program });
    // A release of the practice mill is no release of a machine.
    assert_eq!(rig.state.release, None);
    assert!(matches!(
        rig.try_do(Command::Start {
            program,
            people: std::sync::Arc::default(),
        }),
        Err(Refusal::Held(_))
    ));
    // Any other event ends it.
    rig.go(Command::Pause { how: "left".into() });
    rig.go(resume("JT"));
    rig.sign(pass("clear", 1)).unwrap();
    assert_eq!(rig.state.practice, None);
    rig.go(Command::PracticeRelease { program });
    let events = rig.go(Command::PracticeStart { program });
    assert!(matches!(events.as_slice(), [Event::PracticeStarted { .. }]));
    assert!(rig.state.cutting.is_some());
    assert_eq!(rig.state.practice, None);
}

#[test]
fn a_real_run_has_no_practice_mill() {
    let mut rig = ready();
    rig.sign(pass("clear", 1)).unwrap();
    let program = rig.program;
    for command in [
        Command::PracticeRelease { program },
        Command::PracticeStart { program },
    ] {
        let refused = rig.try_do(command);
        let Err(Refusal::Held(holds)) = refused else {
            panic!("{refused:?}");
        };
        assert!(holds.iter().any(|h| h.why == HoldReason::NoRehearsal));
    }
    rig.release().unwrap();
    assert_eq!(rig.state.practice, None);
    assert!(matches!(
        rig.try_do(Command::PracticeStart { program }),
        Err(Refusal::Held(_))
    ));
}
