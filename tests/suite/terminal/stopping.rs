//! Stopping, and why; taking a run up again where the machine may not have stayed as it was.

use super::{takes_up, takes_up_homed};
use crate::operator::Sitting;
use crate::support::{Bench, told, until, whole};

#[test]
fn a_cause_typed_with_the_stop_word_is_not_asked_again() {
    for (word, loses) in [("stop stalled", true), ("stop planned", false)] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.reaches_the_hold_point();
        at.answers("initials", word);
        at.sees("takes the run up again when the cause is gone");
        at.ends(3);
        assert!(told(&bench.shown(), "stop_explained").is_empty());
        if loses {
            // Heights are gone, so nothing is left that the machine could have lost meanwhile.
            let (mut at, _) = takes_up(&bench);
            at.is_shown(
                &["no longer holds: the machine stalled", "Touch the plate"],
                "P1 in mm",
            );
        } else {
            let (mut at, _) = takes_up_homed(&bench);
            at.is_shown(&["Hold point"], "initials");
        }
    }
}

/// Ctrl-C, a hang-up and a kill in the midst of the question: the stop stands, and why is asked when the run is taken up.
#[test]
fn why_it_was_stopped_is_asked_again_of_whoever_takes_the_run_up() {
    for how in ["\x03", "\x04", "killed"] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.reaches_the_hold_point();
        at.signs();
        at.answers("started", "stop chatter");
        at.sees("why stopped> ");
        bench.run(&["gate"]).ended(3);
        if how == "killed" {
            at.is_cut_off();
        } else {
            at.presses(how);
            at.sees("The stop is saved. Cycle start is held.");
            at.ends(3);
        }
        let (mut at, shown) = takes_up_homed(&bench);
        assert!(shown.contains("It was left: stopped: chatter."), "{shown}");
        at.is_shown(&["nobody has said why"], "why stopped");
        for (wrong, why) in [
            ("yes", "`yes` is none of the causes"),
            ("8", "`8` is none of the causes"),
            ("stop", "`stop` is none of the causes"),
            ("", "The stop is recorded"),
            ("?", "The stop is recorded"),
        ] {
            at.types(wrong);
            at.is_shown(&[why], "why stopped");
        }
        bench
            .run(&["gate"])
            .ended(3)
            .tells(&["the machine was stopped, and nobody has said why"]);
        at.types("1, the left clamp");
        at.is_shown(
            &[
                "What depends on the machine's position is asked again",
                "no longer holds: something was hit",
            ],
            "P1 in mm",
        );
        let why = told(&bench.shown(), "stop_explained");
        assert_eq!(
            why,
            ["AB said why it was stopped: hit something, the left clamp"]
        );
    }
}

#[test]
fn a_cut_that_is_stopped_asks_why_and_a_kill_there_asks_again() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.starts("roughing pass 1");
    at.presses("stop chips flew at the door\r");
    at.is_shown(&["was stopped before its end"], "why stopped");
    at.is_cut_off();
    let (mut at, _) = takes_up_homed(&bench);
    at.answers("why stopped", "emergency");
    at.is_shown(
        &["no longer holds: the emergency stop was pressed"],
        "P1 in mm",
    );
    let json = bench.shown();
    assert_eq!(json["cuts"][0]["how"], "emergency stop");
    assert_eq!(json["cuts"][0]["cause"], "emergency stop");
    let ended = told(&json, "cut_ended");
    assert_eq!(
        ended,
        ["AB: the cut was stopped before its end, chips flew at the door"]
    );
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn a_machine_that_lost_power_while_the_run_was_left_is_touched_off_again() {
    for (answer, loses) in [
        ("lost", true),
        ("1", true),
        ("power on and not moved", false),
    ] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.reaches_the_hold_point();
        at.answers("initials", "leave");
        at.ends(130);
        let (mut at, _) = takes_up(&bench);
        at.is_told(
            "machine since",
            "yes",
            &["`yes` is none of the answers"],
            "machine since",
        );
        at.types(answer);
        if loses {
            at.is_shown(&["No longer holds (", "Touch the plate"], "P1 in mm");
        } else {
            at.is_shown(&["Hold point"], "initials");
        }
        let resumed = told(&bench.shown(), "resumed");
        assert!(resumed[0].starts_with("taken up again by AB; machine: "));
    }
}

/// Left before anything was homed or touched, the run goes on without a word on the machine; left at the question itself,
/// nothing is recorded.
#[test]
fn the_machine_is_asked_about_only_where_something_could_be_lost() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "leave"),
    ]);
    at.ends(130);
    let (mut at, _) = takes_up(&bench);
    at.is_shown(&["Which cutter"], "choose");
    at.types("leave");
    at.ends(130);
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "leave");
    at.ends(130);
    let (mut at, _) = takes_up(&bench);
    at.sees("machine since> ");
    at.presses("\x03");
    at.ends(130);
    assert!(told(&bench.shown(), "resumed").is_empty());
}

#[test]
fn answers_from_a_file_say_why_a_cut_was_stopped() {
    let bench = Bench::new();
    let cut = "[{value: stopped, why: \"hit something, a clamp\"}, finished]";
    let file = bench.answers("why.yaml", until("look", &[("pass_cut", cut)]));
    // The heights it was touched off by are asked again, and the file has no more.
    bench
        .walk(&file)
        .ended(2)
        .says(&["no answer left for the step"]);
    let why = told(&bench.shown(), "stop_explained");
    assert_eq!(why, ["AB said why it was stopped: hit something, a clamp"]);
    let bench = Bench::new();
    let file = bench.answers("no-why.yaml", whole(&[("pass_cut", "stopped")]));
    bench
        .walk(&file)
        .ended(2)
        .says(&["write `{value: stopped, why: planned}`"]);
}
