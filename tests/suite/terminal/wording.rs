//! How much is shown around a question: where the walk is, cautions in full and in short, the status line; and words that
//! are no answer, or may be one.

use super::whole::whole_walk;
use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing, shipped, told, whole};

/// The hazard, and what to do about it, of the one caution of the smallest procedure.
const HAZARD: &str = "The cutter turns.";
const FULL: &str = "The cutter turns. It cuts and winds in. Keep hands out.";
const AVOID: &str = "Keep hands out.";

/// What is shown before the first touch.
fn touching(at: &mut Operator) -> String {
    at.sets_up();
    flowing(&plain(&at.sees("P1 in mm> ")))
}

#[test]
fn a_caution_is_whole_once_a_phase_and_short_where_that_is_wished() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    let shown = touching(&mut at);
    assert!(shown.contains(FULL), "{shown}");
    at.types("leave");
    at.ends(130);
    let mut at = Sitting::at(&bench).args(&["--words", "short"]).walks();
    at.answers("initials", "ab");
    let shown = flowing(&plain(&at.sees("P1 in mm> ")));
    assert!(shown.contains(AVOID) && !shown.contains(HAZARD), "{shown}");
    at.types("?");
    at.is_shown(&[FULL], "P1 in mm");
    bench
        .run(&["walk", "--words", "some"])
        .ended(2)
        .says(&["`some` is not full or short"]);
}

#[test]
fn three_finished_walks_of_a_procedure_make_its_words_short_for_that_person() {
    let bench = Bench::new();
    for _ in 0..3 {
        let mut at = Sitting::at(&bench).walks();
        whole_walk(&mut at);
        assert!(flowing(&plain(&at.screen)).contains(FULL), "{}", at.screen);
    }
    let mut at = Sitting::at(&bench).walks();
    let shown = touching(&mut at);
    assert!(shown.contains(AVOID) && !shown.contains(HAZARD), "{shown}");
    // Another person has not walked it.
    at.types("handover cd");
    at.answers("confirm", "worn");
    at.is_shown(&[FULL], "P1 in mm");
    at.types("leave");
    at.ends(130);
}

#[test]
fn a_walk_from_a_file_makes_no_person_practised() {
    let bench = Bench::new();
    let file = bench.answers("whole.yaml", whole(&[]));
    for _ in 0..3 {
        bench.walk(&file).ended(0).says(&[FULL]);
    }
    let shown = flowing(&bench.walk(&file).ended(0).err);
    assert!(shown.contains(AVOID) && !shown.contains(HAZARD), "{shown}");
    let mut at = Sitting::at(&bench).walks();
    assert!(touching(&mut at).contains(FULL));
    at.types("leave");
    at.ends(130);
}

#[test]
fn questions_are_counted_through_the_run_and_the_status_is_shown_where_it_changed() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.is_shown(
        &[
            "hold point HELD",
            "machine north",
            "operator AB",
            "question 2 of about ",
        ],
        "choose",
    );
    at.types("c12");
    let shown = plain(&at.sees("choose> "));
    assert!(shown.contains("cutter c12"), "{shown}");
    assert!(shown.contains("question 3 of about "), "{shown}");
    at.types("bed-a");
    at.answers("confirm", "worn");
    let shown = plain(&at.sees("confirm> "));
    assert!(!shown.contains("hold point"), "nothing changed: {shown}");
    at.types("homed");
    at.goes(&[
        ("value in rpm", "3000"),
        ("time in min", "2 s"),
        ("file", "face-12.nc"),
    ]);
    at.touches();
    at.plans();
    at.signs();
    let shown = flowing(&plain(&at.sees("started> ")));
    assert!(
        shown.contains("hold point RELEASED to AB, once, until "),
        "{shown}"
    );
    assert!(!shown.contains("HELD"), "{shown}");
}

#[test]
fn cancel_leaves_each_command_that_asks_for_more() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.is_told("choose", "note", &["Type the note, or `cancel`."], "note");
    at.types("cancel");
    at.is_shown(&["Nothing noted."], "choose");
    at.types("handover");
    at.is_shown(&["To whom? Type their initials, or `cancel`."], "initials");
    at.types("Cancel");
    at.is_shown(&["AB has the run, as before."], "choose");
    at.types("end");
    at.is_shown(&["Type `give up` to do it, or `cancel`."], "give up");
    at.types("cancel");
    at.is_shown(&["Not given up; the run goes on."], "choose");
    at.types("cancel");
    at.is_shown(&["No command is begun that could be cancelled."], "choose");
    at.types("c12");
    at.goes(&[
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
    ]);
    at.goes(&[("value in rpm", "100"), ("reason", "cancel")]);
    at.is_shown(&[], "value in rpm");
    at.types("leave");
    at.ends(130);
    let shown = bench.shown();
    assert!(told(&shown, "noted").is_empty());
    assert!(told(&shown, "handed_over").is_empty());
    assert!(told(&shown, "accepted").is_empty());
}

/// The smallest procedure with two confirmations whose answers begin like a command and like each other.
fn alike(bench: &Bench) -> std::path::PathBuf {
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let text = text.replace("answer: homed", "answer: stopped").replace(
        "wrong: [not homed, it ran away]\n        out of service: [it ran away]",
        "wrong: [still turning, started again]",
    );
    bench.write("alike.yaml", &text)
}

#[test]
fn an_answer_that_looks_like_a_command_is_asked_back_once() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).procedure(alike(&bench)).walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "c12")]);
    at.goes(&[("choose", "bed-a"), ("confirm", "worn")]);
    at.is_told(
        "confirm",
        "stop",
        &[
            "`stop` may be the answer `stopped` or a command.",
            "then type `stop` again",
        ],
        "confirm",
    );
    assert!(told(&bench.shown(), "stopped").is_empty());
    at.types("sto");
    at.is_shown(&["value in rpm"], "value in rpm");
    // Where no answer looks like it, the word stops at once.
    at.types("stop smoke");
    at.is_shown(&["feed hold, or the emergency stop"], "why stopped");
    at.types("seen");
    at.ends(3);

    let mut at = Sitting::at(&bench).procedure(alike(&bench)).walks();
    at.answers("initials", "ab");
    at.answers("value in rpm", "back");
    at.answers("confirm", "stop");
    at.answers("confirm", "stop");
    at.is_shown(&["feed hold, or the emergency stop"], "why stopped");
    at.types("seen");
    at.ends(3);
    assert_eq!(told(&bench.shown(), "stopped").len(), 2);
}

#[test]
fn an_abbreviation_is_taken_where_it_fits_one_answer_and_else_it_is_said_why_not() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).procedure(alike(&bench)).walks();
    at.goes(&[("initials", "ab"), ("machine", "n")]);
    at.is_told("choose", "c1", &["`c1` may be `c12` or `c16`"], "choose");
    at.types("c12");
    at.answers("choose", "bed-a");
    // A critical state is typed whole, or by its number.
    at.is_told(
        "confirm",
        "w",
        &["`w` is short for `worn`; here the word is typed whole"],
        "confirm",
    );
    at.types("worn");
    at.is_told(
        "confirm",
        "st",
        &["`st` may be `started again` or `still turning` or `stopped`"],
        "confirm",
    );
    at.types("stopp");
    at.is_shown(&["Recorded: stopped"], "value in rpm");
    // What was typed is not repeated.
    at.types("3000");
    let shown = plain(&at.sees("time in min> "));
    assert!(!shown.contains("Recorded"), "{shown}");
    at.types("leave");
    at.ends(130);
}
