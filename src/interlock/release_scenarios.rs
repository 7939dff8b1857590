//! Scenarios of a release: what gives it, what ends it, whom it is for.

use super::answer_status::{AnswerStatus, Next};
use super::command::{Command, GivenAnswer};
use super::elsewhere::Elsewhere;
use super::event::Event;
use super::examined::{Examined, Judged};
use super::gate::HoldReason;
use super::refusal::Refusal;
use super::stopping::{Cause, CutEnd};
use super::testing::{TestRun, at, ended, pass, ready, reasons, resume};
use crate::fingerprint::Fingerprint;
use crate::quantity::moment::Moment;

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
                facts: Vec::new(),
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
