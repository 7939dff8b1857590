//! Slips of the hand and the head, and the way out of each.

use crate::operator::Sitting;
use crate::support::{Bench, told, values};

#[test]
fn slips_are_named_and_the_question_stands() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.touches();
    let value = "value in mm";
    at.is_told(value, "deep", &["Not taken:", "type one such as"], value);
    at.types("3000 rpm");
    at.is_shown(&["that is a spindle speed, but a length is needed"], value);
    at.types("-0.05");
    at.is_shown(
        &[
            "perhaps a minus sign was lost or added: 0.05 mm",
            "would fit",
        ],
        value,
    );
    at.types("0.6");
    at.is_shown(
        &["above the most allowed, 0.5 mm", "Nobody can waive this"],
        value,
    );
    at.types("0.2");
    at.is_shown(
        &[
            "Out of the expected range: 0.2 mm",
            "the reason for which AB accepts it",
        ],
        "reason",
    );
    at.types("no");
    at.is_shown(&[], value);
    at.types("0.2");
    at.is_shown(&[], "reason");
    at.types("a hollow beside P5");
    at.is_shown(&["accepted by AB: a hollow beside P5"], value);
    at.types("0.004 in");
    at.is_shown(&["Recorded: 0.1016 mm"], "shows now, mm");
    at.types("leave");
    at.ends(130);
    let shown = bench.shown();
    assert_eq!(told(&shown, "refused").len(), 4);
    assert_eq!(values(&shown, "clearance"), [0.2]);
}

#[test]
fn a_sign_error_at_the_control_is_named() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.touches();
    at.goes(&[("value in mm", "0"), ("value in mm", "0")]);
    at.is_shown(&["Type -0.18 mm"], "shows now, mm");
    at.types("0.18");
    at.is_shown(
        &["shows +0.18 mm, but -0.18 mm", "the sign is wrong"],
        "shows now, mm",
    );
    at.types("-0.18");
    at.is_shown(&["read back the same"], "initials");
}

/// The readout of the mill steps by 0.01 mm: one step off is another value, not the same one rounded.
#[test]
fn a_read_back_one_step_off_is_refused() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(crate::support::shipped("small.yaml")).unwrap();
    let entry = "        sets zero at: plane\n";
    assert!(text.contains(entry));
    let tolerance = format!("{entry}        tolerance: machine.readout_step\n");
    let procedure = bench.write("tolerant.yaml", &text.replacen(entry, &tolerance, 1));
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.sets_up();
    at.touches();
    at.goes(&[("value in mm", "0"), ("value in mm", "0")]);
    at.is_shown(&["Type -0.18 mm"], "shows now, mm");
    for off in ["-0.17", "-0.19"] {
        at.types(off);
        at.is_shown(&[&format!("shows {off} mm, but -0.18 mm")], "shows now, mm");
    }
    // A control in inches shows -0.0071, which is -0.18034 mm.
    at.types("-0.0071 in");
    at.is_shown(&["-0.18"], "initials");
    at.types("leave");
    at.leaves();
}

#[test]
fn going_back_to_an_entry_begins_with_its_reading() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "back");
    at.is_shown(
        &[
            "it is read again first",
            "Answered: 0 mm. Answer anew, or type `keep`.",
        ],
        "value in mm",
    );
    at.types("-0.18");
    at.is_shown(&["Type -0.18 mm"], "shows now, mm");
    at.types("-0.18");
    at.is_shown(&["Hold point"], "initials");
}

#[test]
fn a_worked_out_value_over_a_hard_limit_sends_back_and_recovers() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.goes(&[
        ("P1 in mm", "0"),
        ("P2 in mm", "-0.9"),
        ("shows now, mm", "0"),
        ("P3 in mm", "-0.9"),
        ("shows now, mm", "0"),
        ("P4 in mm", "-0.9"),
        ("shows now, mm", "0"),
        ("P5 in mm", "0"),
    ]);
    at.is_shown(
        &[
            "2.7 mm",
            "above the most allowed, 2 mm",
            "Nobody can waive this",
            "`back corners`",
        ],
        "back STEP",
    );
    at.types("1.5");
    at.is_shown(&["a worked-out value cannot be typed"], "back STEP");
    at.types("holds");
    at.is_shown(&["Spread found: not answered"], "back STEP");
    at.types("back corners");
    at.is_shown(&["Answered: P1 0 mm"], "P1 in mm");
    at.types("0");
    at.goes(&[
        ("P2 in mm", "-0.12"),
        ("shows now, mm", "0"),
        ("P3 in mm", "0.31"),
        ("P4 in mm", "0.08"),
        ("P5 in mm", "-0.05"),
        ("shows now, mm", "0"),
    ]);
    at.is_shown(&["0.36 mm"], "value in mm");
    assert_eq!(values(&bench.shown(), "found"), [0.36]);
}

#[test]
fn touches_can_be_taken_back_added_to_and_begun_anew() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.answers("P1 in mm", "0");
    at.answers("P2 in mm", "0.12");
    at.answers("P3 in mm", "fix");
    at.is_shown(&["The last reading is taken back."], "P2 in mm");
    at.types("-0.12");
    at.is_shown(&["zero the Z readout here, tip on P2"], "shows now, mm");
    at.types("-0.12");
    at.is_shown(&["the readout still shows -0.12 mm"], "shows now, mm");
    at.types("0");
    at.is_shown(&[], "P3 in mm");
    at.types("extra M1 0.05");
    at.is_shown(&["height of M1", "-0.07 mm"], "P3 in mm");
    at.types("again");
    at.is_shown(&["The series begins anew."], "P1 in mm");
    at.types("6");
    at.is_shown(
        &["above the most allowed, 5 mm", "Nobody can waive this"],
        "P1 in mm",
    );
}

/// Figures of an invented plate in inches, both columns read at each point.
#[test]
fn slips_at_an_inch_prompt_are_named_on_evidence_only() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(crate::support::shipped("small.yaml")).unwrap();
    let running = "        zero: running\n";
    assert!(text.contains(running));
    let both = format!("{running}        machine readings: yes\n");
    let text = text
        .replacen(running, &both, 1)
        .replacen("unit: mm", "unit: inch", 1);
    let procedure = bench.write("inches.yaml", &text);
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.sets_up();
    at.answers("P1 in in", "0; -5.960");
    // Millimetres: the machine column says that 0.006 in was read.
    at.is_told(
        "P2 in in",
        "-0.15; -5.966",
        &["in the readout's column a figure in millimetres was taken for inches"],
        "P2 in in",
    );
    // A machine coordinate misread at P1 or P2: only touching again tells which.
    at.types("0.002; -6.958");
    at.is_shown(
        &["either may be misread, here or at P1", "begin anew at P1"],
        "P2 in in",
    );
    // The machine coordinate typed twice is an absolute value; no minus was lost.
    at.types("-5.966; -5.966");
    at.is_shown(
        &["machine Z was typed in both columns; touch the point again and read both"],
        "P2 in in",
    );
    at.types("-0.0035; -5.9635");
    at.goes(&[
        ("shows now, in", "0"),
        ("P3 in in", "0.003; -5.9605"),
        ("P4 in in", "0.004; -5.9595"),
        ("P5 in in", "0.005; -5.9585"),
    ]);
    // 25 may be thousandths or millimetres; neither is named.
    at.answers("value in in", "25");
    at.is_shown(
        &["25 in is above the most allowed, ~0.01969 in. Nobody can waive this."],
        "value in in",
    );
    at.types("0");
    at.goes(&[("value in in", "0.0065")]);
    at.is_shown(&["Type +0.0065 in"], "shows now, in");
    // One step of the readout off is another value.
    for off in ["0.007", "0.006"] {
        at.types(off);
        at.is_shown(
            &[&format!("shows +{off} in, but +0.0065 in")],
            "shows now, in",
        );
    }
    at.types("0.0065");
    at.is_shown(&["read back the same"], "initials");
    at.types("leave");
    at.leaves();
}
