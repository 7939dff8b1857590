//! Tests: which commands are allowed when, and what an emergency stop, resuming and time do to answers.

use super::answer::{Answer, Origin};
use super::answer_status::{AnswerStatus, Next};
use super::command::{Command, GivenAnswer};
use super::elsewhere::Elsewhere;
use super::event::{Event, Outcome};
use super::instance::Instance;
use super::refusal::Refusal;
use super::stopping::{Cause, CutEnd, MachineContinuity};
use super::testing::{SMALL, TINY, TestRun, at, ended, pass, resume};
use crate::fingerprint::Fingerprint;
use std::sync::Arc;

/// The tiny procedure up to its first sign-off, signed.
fn tiny() -> TestRun {
    let mut rig = TestRun::of(TINY);
    rig.word(at("cutter"), "c12").unwrap();
    rig.word(at("eyes"), "worn").unwrap();
    rig.word(at("home"), "homed").unwrap();
    rig.load_program();
    bite(&mut rig, 1);
    rig.sign(pass("clear", 1)).unwrap();
    rig
}

fn bite(rig: &mut TestRun, n: u32) {
    rig.number(pass("bite", n), "0.1").unwrap();
    rig.work_out(pass("plane", n));
}

fn invalidated(events: &[Event]) -> Vec<Instance> {
    let steps = events.iter().filter_map(|event| match event {
        Event::Voided { steps, .. } => Some(steps.clone()),
        _ => None,
    });
    steps.flatten().collect()
}

fn stop(cause: Cause) -> Command {
    Command::Stop {
        cause,
        reason: "noise".into(),
    }
}

#[test]
fn a_run_is_complete_only_when_all_is_done_and_can_be_given_up_always() {
    let end = |outcome| Command::End { outcome };
    let mut rig = TestRun::new();
    let early = rig.try_do(end(Outcome::Complete));
    assert!(matches!(early, Err(Refusal::Held(_))), "{early:?}");
    rig.go(end(Outcome::Abandoned));
    assert_eq!(rig.state.ended, Some(Outcome::Abandoned));
}

#[test]
fn during_a_cut_only_commands_that_end_or_report_the_cut_are_accepted() {
    let mut rig = tiny();
    let none = rig.try_do(ended(CutEnd::Finished));
    assert!(matches!(none, Err(Refusal::NoCut)), "{none:?}");
    rig.release().unwrap();
    rig.start().unwrap();
    let program = rig.program;
    for refused in [
        Command::Answer {
            at: at("eyes"),
            said: GivenAnswer::Word("worn".into()),
            accept: None,
        },
        Command::Release {
            program,
            people: Arc::default(),
        },
        Command::Start {
            program,
            people: Arc::default(),
        },
        Command::HandOver {
            to: "MK".into(),
            elsewhere: Elsewhere::default(),
        },
        Command::LookAtProgram { program: None },
        Command::End {
            outcome: Outcome::Abandoned,
        },
    ] {
        let result = rig.try_do(refused.clone());
        assert!(matches!(result, Err(Refusal::CutUnderWay)), "{refused:?}");
    }
    rig.go(Command::Note { text: "hum".into() });
    rig.go(Command::Pause { how: "gone".into() });
    rig.go(resume("JT"));
    assert!(rig.state.cutting.is_some());
    rig.go(ended(CutEnd::Finished));
    assert!(rig.state.cutting.is_none());
}

/// Only what is marked to be asked again after an emergency stop becomes invalid, with what depends on it, each once.
#[test]
fn an_emergency_stop_invalidates_what_it_makes_suspect() {
    let mut rig = tiny();
    let events = rig.go(stop(Cause::EmergencyStop));
    assert_eq!(
        invalidated(&events),
        [
            at("home"),
            pass("bite", 1),
            pass("plane", 1),
            pass("clear", 1)
        ]
    );
    // The small procedure marks nothing, but heights, entries and what was read against them are asked again.
    let mut rig = TestRun::new();
    assert_eq!(invalidated(&rig.go(stop(Cause::EmergencyStop))), []);
    let mut rig = TestRun::of(SMALL);
    rig.prepare();
    rig.touch_off();
    rig.rough(1, "0", "0");
    rig.sign(pass("clear", 1)).unwrap();
    let lost = invalidated(&rig.go(stop(Cause::EmergencyStop)));
    for of in [
        at("corners"),
        pass("standing", 1),
        pass("entry", 1),
        pass("plane", 1),
        pass("clear", 1),
    ] {
        assert_eq!(
            lost.iter().filter(|l| **l == of).count(),
            1,
            "{of}: {lost:?}"
        );
    }
    assert!(!lost.contains(&at("cutter")) && !lost.contains(&at("eyes")));
}

/// With no cut left there is nothing to protect. Once the inspection leads to another cut, suspect answers become
/// invalid.
#[test]
fn answers_suspect_after_an_emergency_stop_become_invalid_at_the_next_cut() {
    let mut rig = tiny();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(ended(CutEnd::Finished));
    assert_eq!(invalidated(&rig.go(stop(Cause::EmergencyStop))), []);
    rig.go(resume("JT"));
    assert!(rig.state.answer(&at("home")).is_some());
    let events = rig.word(pass("look", 1), "skin left").unwrap();
    assert_eq!(invalidated(&events), [at("home")]);
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == at("home")
    ));
}

#[test]
fn resuming_needs_a_new_sign_off_and_only_another_person_gets_a_handover() {
    for (by, other) in [("JT", false), ("MK", true)] {
        let mut rig = tiny();
        rig.go(Command::Pause { how: "gone".into() });
        let events = rig.go(resume(by));
        let handed = events.iter().any(|e| matches!(e, Event::HandedOver { .. }));
        assert_eq!(handed, other, "{by}");
        assert_eq!(rig.state.operator, by);
        assert!(rig.state.answer(&pass("clear", 1)).is_none(), "{by}");
    }
}

/// The sign-off for a cut under way is used up, so nobody who resumes is asked for it again.
#[test]
fn resuming_while_it_cuts_leaves_what_was_signed_for_the_cut() {
    let mut rig = tiny();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(Command::Pause { how: "gone".into() });
    rig.go(resume("JT"));
    assert!(rig.state.answer(&pass("clear", 1)).is_some());
}

#[test]
fn a_release_found_without_its_terminal_becomes_invalid_with_its_sign_off() {
    let mut rig = tiny();
    assert_eq!(rig.go(Command::FindReleased), []);
    rig.release().unwrap();
    let events = rig.go(Command::FindReleased);
    assert_eq!(invalidated(&events), [pass("clear", 1)]);
    assert!(rig.state.release.is_none());
}

/// An answer in the tiny procedure is valid for two minutes, the last moment included.
#[test]
fn an_answer_is_valid_for_as_long_as_its_step_says() {
    let rig = tiny();
    let since = rig.state.answers[&at("eyes")].at;
    let stale = |ms: i64| {
        let now = since.plus_ms(ms).unwrap();
        let all = rig.state.answer_statuses(now);
        all.into_iter()
            .find(|(p, _)| p.step.id == "eyes")
            .unwrap()
            .1
    };
    assert_eq!(stale(120_000), AnswerStatus::Holds);
    assert!(matches!(stale(120_001), AnswerStatus::Stale { .. }));
    // It is valid at the time of the last event too. For earlier times nothing is known.
    let latest = rig.state.latest.since(since).unwrap();
    assert_eq!(stale(latest), AnswerStatus::Holds);
    assert_eq!(stale(latest - 1), AnswerStatus::ClockWentBack);
}

/// Once the clock has gone back, earlier answers may be stale, so they count as stale at any later time.
#[test]
fn an_answer_from_before_the_clock_went_back_is_asked_again() {
    let mut rig = tiny();
    rig.pass_time(-60_000);
    rig.go(Command::Note { text: "x".into() });
    rig.pass_time(90_000);
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::ClockWentBack) if of == at("eyes")
    ));
}

#[test]
fn a_signature_over_another_state_is_not_valid_while_a_cut_is_to_come() {
    let mut rig = tiny();
    let signed = rig.state.answers.get_mut(&pass("clear", 1)).unwrap();
    let Answer::Signed { digest, .. } = &mut signed.answer else {
        panic!("not signed");
    };
    *digest = Fingerprint::of("another");
    let found = rig.state.next(rig.now);
    assert_eq!(
        found,
        Next::Ask(pass("clear", 1), AnswerStatus::SignedOtherState)
    );
}

/// After the last cut the program is checked only for the record: what becomes invalid then is not asked again.
#[test]
fn answers_invalidated_after_the_last_cut_are_not_asked_again() {
    let mut rig = tiny();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(ended(CutEnd::Finished));
    rig.word(pass("look", 1), "clean").unwrap();
    rig.go(Command::LookAtProgram { program: None });
    assert!(rig.state.answer(&at("nc")).is_none());
    assert_eq!(
        rig.state.next(rig.now),
        Next::Ask(at("swept"), AnswerStatus::Open)
    );
    // Steps that belong after the cut are asked.
    rig.word(at("swept"), "swept").unwrap();
    let foreign = Event::Voided {
        steps: vec![at("swept")],
        because: "swept anew".into(),
    };
    rig.state.apply(rig.now, &foreign);
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == at("swept")
    ));
}

/// A second pass exists because of the inspection after the first.
#[test]
fn a_pass_depends_on_the_inspection_that_led_to_it() {
    let mut rig = tiny();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(ended(CutEnd::Finished));
    rig.word(pass("look", 1), "skin left").unwrap();
    bite(&mut rig, 2);
    rig.sign(pass("clear", 2)).unwrap();
    let rests = rig.state.depending_on(&[pass("look", 1)]);
    assert_eq!(rests, [pass("bite", 2), pass("plane", 2), pass("clear", 2)]);
    // The first pass is cut and stays valid; the second does not depend on its own inspection.
    assert_eq!(rig.state.depending_on(&[pass("look", 2)]), []);
    assert_eq!(
        rig.state.depending_on(&[at("home")]),
        [pass("bite", 2), pass("plane", 2), pass("clear", 2)]
    );
}

/// Each cause by whether the machine may have lost its position (common practice, no source): with the first four
/// homing becomes invalid, with the others it stays valid.
#[test]
fn a_stop_is_recorded_first_and_explained_before_anything_is_answered() {
    for (n, cause) in Cause::CHOICES.into_iter().enumerate() {
        let mut rig = tiny();
        rig.release().unwrap();
        rig.go(stop(Cause::NotSaid));
        assert!(rig.state.release.is_none());
        rig.go(resume("JT"));
        assert_eq!(rig.state.next(rig.now), Next::WhyStopped(None));
        let early = rig.word(at("eyes"), "worn");
        assert!(matches!(early, Err(Refusal::StopNotExplained)), "{early:?}");
        let explain = |cause| Command::ExplainStop {
            cause,
            said: String::new(),
        };
        for no_cause in [Cause::NotSaid, Cause::NotAsked] {
            let result = rig.try_do(explain(no_cause));
            assert!(matches!(result, Err(Refusal::NoStop)), "{result:?}");
        }
        rig.go(explain(cause));
        assert_eq!(rig.state.answer(&at("home")).is_none(), n < 4, "{cause:?}");
        assert!(rig.state.answer(&pass("clear", 1)).is_none());
    }
}

#[test]
fn resuming_records_whether_the_machine_stayed_as_it_was() {
    let take_up = |kept| Command::Resume {
        by: "JT".into(),
        from: Origin::Terminal,
        kept,
        elsewhere: Elsewhere::default(),
    };
    // Nothing is homed yet, so there is no question about the machine.
    let mut rig = TestRun::of(TINY);
    rig.go(Command::Pause { how: "gone".into() });
    rig.go(take_up(None));
    for (kept, home) in [
        (MachineContinuity::Kept, true),
        (MachineContinuity::Lost, false),
        (MachineContinuity::NotKnown, false),
    ] {
        let mut rig = tiny();
        rig.go(Command::Pause { how: "gone".into() });
        let result = rig.try_do(take_up(None));
        assert!(matches!(result, Err(Refusal::KeptNotSaid)), "{result:?}");
        rig.go(take_up(Some(kept)));
        assert_eq!(rig.state.answer(&at("home")).is_some(), home, "{kept:?}");
        assert!(rig.state.answer(&at("cutter")).is_some());
        // During a cut, its plane stays valid until the cut is over.
        let mut rig = tiny();
        rig.release().unwrap();
        rig.start().unwrap();
        rig.go(Command::Pause { how: "gone".into() });
        rig.go(take_up(Some(kept)));
        assert!(rig.state.answer(&at("home")).is_some());
        rig.go(ended(CutEnd::Stopped));
        assert_eq!(rig.state.answer(&at("home")).is_some(), home, "{kept:?}");
    }
}

/// The plane becomes invalid with the heights, and the unfinished cut with its plane, so it is made again.
#[test]
fn an_emergency_stop_named_after_the_stop_word_invalidates_the_cut_with_its_plane() {
    let mut rig = tiny();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(stop(Cause::NotSaid));
    let answer = |rig: &TestRun| {
        let answer = rig.state.answer(&pass("pass_cut", 1));
        answer.and_then(Answer::word).map(str::to_owned)
    };
    assert_eq!(answer(&rig).as_deref(), Some("stopped"));
    rig.go(Command::ExplainStop {
        cause: Cause::EmergencyStop,
        said: "a visitor".into(),
    });
    assert_eq!(answer(&rig), None);
    assert!(rig.state.answer(&at("home")).is_none());
}
