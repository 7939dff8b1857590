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

/// A run that was left in the middle of its first cut; each copy of its book is one to go on from.
fn in_a_cut() -> Bench {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.starts("roughing pass 1");
    at.presses("\x03");
    at.ends(130);
    bench
}

/// Asked how the cut ended, each cause once: what is recorded, and what no longer holds.
#[test]
fn stopped_at_the_question_how_the_cut_ended_asks_why() {
    let left = in_a_cut();
    let lost = "What depends on the machine's position is asked again.";
    let signed = "What was signed must be signed again.";
    for (typed, cause, because) in [
        ("hit something", "hit something", Some("something was hit")),
        ("stalled", "stalled", Some("the machine stalled")),
        ("power lost", "power lost", Some("the power was lost")),
        (
            "emergency stop",
            "emergency stop",
            Some("the emergency stop was pressed"),
        ),
        ("sound or smell", "sound or smell", None),
        ("something seen", "something seen", None),
        ("planned", "planned", None),
        ("7, lunch", "planned", None),
    ] {
        let bench = left.copied();
        let (mut at, shown) = takes_up_homed(&bench);
        assert!(shown.contains("It was left"), "{shown}");
        at.is_shown(
            &["A cut is under way", "How did the cut end?"],
            "how it ended",
        );
        for wrong in ["yes", "4", "stalled", "held", "done"] {
            at.types(wrong);
            let why =
                format!("`{wrong}` is none of the answers; type a number or one of: `finished`,");
            at.is_shown(&[&why], "how it ended");
        }
        at.types("stopped");
        at.is_shown(
            &["was stopped before its end", "Why was it stopped?"],
            "why stopped",
        );
        bench
            .run(&["gate"])
            .ended(3)
            .tells(&["the machine was stopped, and nobody has said why"]);
        for wrong in ["stopped", "finished", "0", "8", "crash", ", planned"] {
            at.types(wrong);
            let why = format!("`{wrong}` is none of the causes");
            at.is_shown(&[&why], "why stopped");
        }
        at.types(typed);
        match because {
            // Heights and entries are gone with the position; eyes, cutter and plate are not asked again.
            Some(because) => {
                let because = format!("no longer holds: {because}");
                at.is_shown(&[lost, &because, "Touch the plate"], "P1 in mm");
            }
            None => at.is_shown(&[signed, "Hold point"], "initials"),
        }
        let json = bench.shown();
        let how = if cause == "emergency stop" {
            cause
        } else {
            "stopped"
        };
        assert_eq!(json["cuts"][0]["how"], how);
        assert_eq!(json["cuts"][0]["cause"], cause);
        let said = if typed == "7, lunch" { ", lunch" } else { "" };
        assert_eq!(
            told(&json, "stop_explained"),
            [format!("AB said why it was stopped: {cause}{said}")]
        );
        let answers = json["answers"].as_array().unwrap();
        let answered = |step: &str| answers.iter().any(|a| a["step"] == step);
        assert!(answered("eyes") && answered("cutter") && answered("nc"));
        assert_eq!(answered("corners"), because.is_none());
        assert_eq!(answered("entry"), because.is_none());
        assert!(!answered("clear"));
        bench.run(&["record", "verify"]).ended(0);
    }
}

/// The stop word at that question ends the cut and asks the same; an emergency stop is its own cause.
#[test]
fn the_stop_word_and_an_emergency_stop_at_that_question_end_the_cut() {
    let left = in_a_cut();
    for (typed, how) in [
        ("stop stalled", "stopped"),
        ("emergency stop", "emergency stop"),
        ("3", "emergency stop"),
    ] {
        let bench = left.copied();
        let (mut at, _) = takes_up_homed(&bench);
        at.answers("how it ended", typed);
        if how == "stopped" {
            at.ends(3);
            (at, _) = takes_up(&bench);
        }
        at.is_shown(&["Touch the plate"], "P1 in mm");
        let json = bench.shown();
        assert_eq!(json["cuts"][0]["how"], how);
        assert!(told(&json, "stop_explained").is_empty());
        bench.run(&["record", "verify"]).ended(0);
    }
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
