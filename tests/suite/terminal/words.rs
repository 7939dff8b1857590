//! The words that work at every prompt, and waits.

use crate::operator::{Sitting, plain};
use crate::support::{Bench, told};

#[test]
fn the_words_work_at_a_prompt() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
    ]);
    let value = "value in rpm";
    at.is_told(
        value,
        "?",
        &[
            "Why: Spindle speed in the program",
            "Too fast burns.",
            "at most 6000 rpm",
            "This step is `speed`.",
            "stop REASON:",
        ],
        value,
    );
    at.types("");
    at.is_shown(&["Nothing typed."], value);
    at.types("note the belt squeals");
    at.is_shown(&["Noted."], value);
    at.types("note");
    at.is_shown(&[], "note");
    at.types("a second one");
    at.is_shown(&["Noted."], value);
    at.types("holds");
    at.is_shown(
        &[
            "Cycle start is held,",
            "8 more questions are not answered yet: Touch-off 2, Roughing 6.",
            "To clear:",
        ],
        value,
    );
    at.types("back");
    at.is_shown(
        &[
            "Machine homed",
            "Answered: homed. Answer anew, or type `keep`.",
        ],
        "confirm",
    );
    at.types("keep");
    at.is_shown(&["Spindle speed"], value);
    at.types("back nowhere");
    at.is_shown(&["There is no answered step `nowhere`"], value);
    at.types("3000");
    at.goes(&[("time in min", "2 s"), ("file", "face-12.nc")]);
    at.sees("P1 in mm> ");
    at.types("back cutter");
    at.is_shown(&["Answered: c12."], "choose");
    at.types("c16");
    at.is_shown(
        &[
            "No longer holds (Which cutter: answered again)",
            "The program",
        ],
        "value in rpm",
    );
    at.types("leave");
    at.ends(130);
    assert_eq!(
        told(&bench.shown(), "noted"),
        ["AB noted: the belt squeals", "AB noted: a second one"]
    );
}

#[test]
fn handing_over_asks_what_is_asked_of_the_person_again() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "handover AB");
    at.is_shown(&["AB has the run, as before."], "initials");
    at.types("handover");
    at.is_shown(&["To whom?"], "initials");
    at.types("cd");
    at.is_shown(
        &[
            "Handed over from AB to CD.",
            "operator CD",
            "answered by AB, but each operator must answer it",
        ],
        "confirm",
    );
    at.types("worn");
    at.is_shown(&["Hold point"], "initials");
    at.types("ab");
    at.is_shown(&["`AB` is not the operator of this run, CD"], "initials");
    at.types("cd");
    let code = at.reads_code();
    at.types(&code);
    at.is_shown(&["Signed by CD.", "RELEASED to CD, once"], "started");
    assert_eq!(bench.shown()["operator"], "CD");
    let run = bench.only_run();
    bench
        .run(&["record", "show", &run])
        .ended(0)
        .tells(&["handed over from AB to CD"]);
}

#[test]
fn stop_is_heeded_during_a_wait() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
        ("value in rpm", "3000"),
        ("time in min", "start"),
    ]);
    at.sees("Spindle warm");
    at.presses("stop smoke\r");
    at.is_told(
        "why stopped",
        "smoke",
        &["`smoke` is none of the causes"],
        "why stopped",
    );
    at.types("seen, smoke from the motor");
    at.sees("Recorded. What was signed must be signed again.");
    at.ends(3);
    let stops = told(&bench.shown(), "stopped");
    assert_eq!(stops, ["AB stopped: smoke"]);
    let why = told(&bench.shown(), "stop_explained");
    assert_eq!(
        why,
        ["AB said why it was stopped: something seen, smoke from the motor"]
    );
}

#[test]
fn a_wait_runs_to_its_end_by_itself_and_a_shorter_one_needs_a_reason() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
        ("value in rpm", "3000"),
        ("time in min", "1 s"),
    ]);
    at.is_shown(&["1 s is shorter than the 2 s asked for"], "reason");
    at.types("no");
    at.is_shown(&[], "time in min");
    at.types("start");
    at.is_shown(&["Recorded: 2 s"], "file");
}

#[test]
fn lengths_are_shown_as_the_person_works_and_in_both_units_on_request() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.touches();
    let value = "value in mm";
    at.answers(value, "0");
    let shown = plain(&at.sees("value in mm> "));
    assert!(shown.contains("Plane of this pass: 0.01 mm"), "{shown}");
    assert!(!shown.contains(" in)"), "{shown}");
    at.types("units");
    at.is_shown(
        &["Lengths are shown in mm. `units both` shows both units."],
        value,
    );
    at.types("units both");
    at.is_shown(&["Lengths are shown in both units."], value);
    at.types("0");
    at.is_shown(&["Type -0.18 mm (~-0.00709 in)"], "shows now, mm");
    at.types("leave");
    at.ends(130);
    let mut at = Sitting::at(&bench).args(&["--units", "both"]).walks();
    at.answers("initials", "ab");
    at.answers("machine since", "3");
    at.is_shown(&["Type -0.18 mm (~-0.00709 in)"], "shows now, mm");
}
