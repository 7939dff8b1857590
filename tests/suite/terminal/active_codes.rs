//! The line of active codes typed at a terminal, with the slips that people make. The lines are invented; the codes are
//! those of NISTIR 6556, table 4.

use super::takes_up_homed;
use crate::operator::{Operator, Sitting};
use crate::support::{Bench, shipped, told};
use serde_json::Value;

const LINE: &str = "active codes";
const WHOLE: &str = "G54 G21 G90 G94 G17 G40 G49 G50 G69 G80 F600 S3000 T3";

fn at_the_codes(bench: &Bench, more: &[&'static str]) -> Operator {
    let sitting = Sitting::at(bench).procedure(shipped("codes.yaml"));
    let mut at = sitting.args(more).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "south"),
        ("file", "face-12.nc"),
    ]);
    at
}

/// The answer of a step as the record gives it.
fn answer(shown: &Value, step: &str) -> Value {
    let answers = shown["answers"].as_array().unwrap();
    let found = answers.iter().find(|a| a["step"] == step);
    found
        .unwrap_or_else(|| panic!("no {step} in {answers:?}"))
        .clone()
}

#[test]
fn slips_in_the_line_are_named_and_the_question_stands() {
    let bench = Bench::new();
    let mut at = at_the_codes(&bench, &[]);
    at.is_shown(&["The program runs with: mm, G54, no length offset."], LINE);
    for (typed, parts) in [
        // The letter O for the digit zero.
        (
            "G54 G9O G21",
            vec!["`G9O` has the letter O where the digit 0 belongs"],
        ),
        ("G59,1", vec!["`G59,1` has a comma where the point belongs"]),
        ("the usual ones", vec!["`the` has no number"]),
        (
            "G54 G55 G90",
            vec!["`G54` and `G55` are both of one group (offset)"],
        ),
        (
            "G20 G54 G90",
            vec![
                "`inch` is not the unit of the program",
                "active codes again",
            ],
        ),
        (
            "G21 G55 G90",
            vec![
                "`G55` is not the offset of the program",
                "work offsets again",
            ],
        ),
        (
            "G43 H3",
            vec![
                "`H3` is not the length offset number of the program",
                "tool offsets again",
            ],
        ),
        (
            "G91",
            vec![
                "`G91` is not the distance that this procedure needs",
                "a jog in G91",
            ],
        ),
        ("?", vec!["Z is set in the work offset that is active"]),
    ] {
        at.types(typed);
        at.is_shown(&parts, LINE);
    }
    // Lower case, pasted with the separators of a screen, with a word that is not known; some groups are not shown.
    at.types("g54 | g21 | g90 | g94, g17; g40 | g187 |");
    at.is_shown(
        &["Not in the line: the tool length offset"],
        "length offset",
    );
    at.types("none");
    at.is_shown(
        &["Not in the line: scaling: G50 or G51", "Type `none`"],
        "scaling",
    );
    at.types("G6O");
    at.is_shown(&["`G6O` has the letter O"], "scaling");
    at.types("off");
    at.is_shown(&[], "rotation");
    // Ctrl-C loses nothing: the walk goes on at the group that is still open.
    at.presses("\x03");
    at.ends(130);
    let (mut at, _) = takes_up_homed(&bench);
    at.is_shown(&["Not in the line: rotation"], "rotation");
    at.types("G68");
    at.is_shown(
        &["`G68` is active: rotation is on: every move in X and Y is turned"],
        "reason",
    );
    at.types("no");
    at.is_shown(&[], "rotation");
    at.types("g69");
    at.is_shown(
        &["Not known here: G187", "the record has it as typed"],
        LINE,
    );
    at.types("leave");
    at.ends(130);
    let shown = bench.shown();
    let control = answer(&shown, "control");
    assert_eq!(control["codes"]["offset"], "G54");
    assert_eq!(control["codes"]["rotation"], "G69");
    assert_eq!(control["not_known"], serde_json::json!(["G187"]));
    assert_eq!(
        control["typed"][0],
        "g54 | g21 | g90 | g94, g17; g40 | g187 |"
    );
    assert_eq!(told(&shown, "codes_typed").len(), 3);
    assert!(told(&shown, "refused").iter().any(|t| t.contains("G9O")));
}

/// The second reading is blind: neither the question nor a refusal shows what is expected, and Up does not bring back
/// the first line.
#[test]
fn the_second_reading_is_blind() {
    let bench = Bench::new();
    let mut at = at_the_codes(&bench, &["--plain"]);
    at.answers(LINE, WHOLE);
    let before = at.sees(&format!("{LINE}> "));
    let question = before
        .rsplit("Active codes before cycle start")
        .next()
        .unwrap();
    assert!(
        !question.contains("G54") && !question.contains("metric"),
        "{question}"
    );
    at.types("\x1b[A");
    let empty = at.sees(&format!("{LINE}> "));
    assert!(!empty.contains("Recorded"), "{empty}");
    at.types(&WHOLE.replace("G54", "G55"));
    let refused = at.sees(&format!("{LINE}> "));
    assert!(refused.contains("Not taken"), "{refused}");
    let refused = refused.rsplit("Not taken").next().unwrap();
    assert!(
        refused.contains("G55") && refused.contains("work offsets"),
        "{refused}"
    );
    assert!(
        !refused.contains("G54") && !refused.contains(WHOLE),
        "{refused}"
    );
    at.types(WHOLE);
    at.is_shown(&["Recorded"], "initials");
    at.types("back codes_now");
    let again = at.sees(&format!("{LINE}> "));
    assert!(
        again.contains("Answered. Answer anew") && !again.contains("G54"),
        "{again}"
    );
    at.types("keep");
    at.is_shown(&[], "initials");
    at.types("leave");
    at.ends(130);
    assert_eq!(answer(&bench.shown(), "codes_now")["pass"], 1);
}

/// A mill without length offsets is asked for none.
#[test]
fn nothing_asks_for_h_where_there_is_none() {
    let bench = Bench::new();
    let sitting = Sitting::at(&bench).procedure(shipped("codes.yaml"));
    let mut at = sitting.walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("file", "face-12.nc"),
        (LINE, "G54G21G90G94G17G40G50G69"),
    ]);
    at.is_shown(&["Active codes before cycle start"], LINE);
    at.types("leave");
    at.ends(130);
}
