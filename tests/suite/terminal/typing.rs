//! Help with typing at a prompt: answers given before, and completion.

use super::takes_up;
use crate::operator::{Sitting, plain};
use crate::support::Bench;

const UP: &str = "\x1b[A";
const DOWN: &str = "\x1b[B";
/// Takes away what is typed.
const CTRL_U: &str = "\x15";

#[test]
fn up_and_down_step_through_the_answers_that_were_taken() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_speed();
    at.types("867530 turns");
    at.is_shown(&["Not taken"], "value in rpm");
    at.presses("30");
    at.presses(UP);
    at.sees("rpm> homed");
    // What must be looked at anew each time is not recalled.
    at.presses(UP);
    at.sees("rpm> bed-a");
    at.presses(UP.repeat(20));
    at.sees("rpm> north");
    at.presses(DOWN.repeat(3));
    at.sees("rpm> homed");
    at.presses(DOWN);
    at.sees("rpm> 30");
    at.types("00");
    at.sees("time in min> ");
    at.presses(UP);
    at.sees("min> 3000");
    let seen = plain(&at.screen);
    assert_eq!(seen.matches("> 867530").count(), 1, "refused: {seen}");
    assert_eq!(seen.matches("> worn").count(), 1, "critical: {seen}");
    assert_eq!(seen.matches("> ab").count(), 1, "initials: {seen}");
    at.presses(CTRL_U);
    at.types("leave");
    at.ends(130);
}

#[test]
fn neither_initials_nor_codes_are_recalled() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.sees("initials> ");
    at.types("ab");
    let code = at.reads_code();
    at.types(&code);
    at.sees("started> ");
    let before = at.screen.len();
    at.presses(UP.repeat(100));
    at.sees("started> north");
    let recalled = plain(at.screen.get(before..).unwrap());
    assert!(recalled.contains("started> homed"), "{recalled}");
    assert!(!recalled.contains(&code), "{recalled}");
    assert!(!recalled.contains("> ab"), "{recalled}");
    at.presses(CTRL_U);
    at.types("leave");
    at.ends(130);
}

#[test]
fn tab_completes_words_commands_and_paths() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "ab");
    at.sees("machine> ");
    // An empty line stays one.
    at.presses("\tnor\t");
    at.sees("machine> north");
    at.types("");
    at.answers("choose", "c12");
    at.sees("choose> ");
    at.presses("BED\t");
    at.sees("choose> bed-a");
    at.types("");
    // A word that must be typed whole is not completed.
    at.answers("confirm", "wor\t");
    at.is_shown(&["`wor` is short for `worn`"], "confirm");
    at.types("worn");
    at.answers("confirm", "homed");
    at.sees("value in rpm> ");
    at.presses("hol\t");
    at.sees("rpm> holds");
    at.types("");
    at.is_shown(&["Cycle start is held,"], "value in rpm");
    at.types("3000");
    at.answers("time in min", "2 s");
    at.sees("file> ");
    at.presses("fac\t");
    at.sees("file> face-12.nc");
    at.types("");
    at.sees("P1 in mm> ");
    at.types("leave");
    at.ends(130);
}

/// On a terminal whose cursor is not moved, the line is taken back and typed anew.
#[test]
fn plain_prompts_complete_and_recall_too() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).args(&["--plain"]).walks();
    at.answers("initials", "ab");
    at.sees("machine> ");
    at.presses("nor\t\r");
    at.answers("choose", "c12");
    at.sees("choose> ");
    at.presses(UP);
    at.sees("c12");
    at.presses(UP);
    at.sees("north");
    at.presses(CTRL_U);
    at.types("bed-a");
    at.sees("confirm> ");
    assert!(!at.screen.contains("\x1b["), "{:?}", at.screen);
    at.types("leave");
    at.ends(130);
}

#[test]
fn a_run_stopped_without_words_was_left_for_the_cause_that_was_said() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.answers("started", "stop");
    at.answers("why stopped", "hit something");
    at.ends(3);
    let (_at, shown) = takes_up(&bench);
    assert!(
        shown.contains("It was left: stopped: hit something."),
        "{shown}"
    );
}
