//! A timer that runs while other questions go on, and a cut whose help is read.

use super::takes_up_homed;
use crate::operator::Sitting;
use crate::support::{Bench, shipped, told};

/// The small procedure with its warm-up in the background, and nothing before the hold point that needs it.
fn in_background(bench: &Bench, time: &str) -> std::path::PathBuf {
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let (wait, touches) = (
        "for: machine.warm_up\n",
        "rests on: [cutter, home, warm, plate]",
    );
    assert!(text.contains(wait) && text.contains(touches));
    let text = text
        .replace(wait, &format!("for: {time}\n        in background: yes\n"))
        .replace(touches, "rests on: [cutter, home, plate]");
    bench.write("background.yaml", &text)
}

#[test]
fn a_timer_runs_during_the_questions_survives_a_crash_and_is_waited_for_at_the_hold_point() {
    let bench = Bench::new();
    let procedure = in_background(&bench, "12 s");
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.reaches_the_speed();
    at.types("3000");
    at.is_shown(
        &[
            "12 s run from now while the questions go on; what needs them waits.",
            "Spindle warm 0:",
            "to go",
            "The program",
        ],
        "file",
    );
    at.is_cut_off();
    let (mut at, _) = takes_up_homed(&bench);
    at.is_shown(&["to go"], "file");
    at.types("face-12.nc");
    at.touches();
    at.goes(&[
        ("value in mm", "0"),
        ("value in mm", "0"),
        ("shows now, mm", "-0.18"),
    ]);
    at.is_shown(&["What comes next needs this:"], "time in min");
    at.types("start");
    at.is_shown(&["Hold point"], "initials");
    let shown = bench.shown();
    assert_eq!(told(&shown, "timer_began"), ["timer began: Spindle warm"]);
}

#[test]
fn help_during_a_cut_leaves_its_bar_running() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.answers("started", "started");
    at.sees("Cutting. Press Enter when it has ended");
    at.sees("0:0");
    at.presses("?\r");
    at.sees("Why: Cycle start");
    at.sees("At every prompt");
    // The bar is drawn again, and counts on.
    at.sees("0:0");
    at.presses("\r");
    at.is_shown(&["How did the cut end?"], "how it ended");
}
