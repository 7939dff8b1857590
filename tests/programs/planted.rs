//! Plants one mistake in ordinary programs of several styles: it is found first, and no other finding stops or needs a
//! look except the named ones.

use crate::setting::{dialect, setup, studied_by};
use crate::styles;
use skimgate::program::rules::Grade;
use skimgate::program::setting::{LengthOffset, Units};
use skimgate::program::setup::Setup;

/// The styles in which a mistake is planted, if they contain the words that it replaces.
const STYLES: [&str; 5] = [
    "zigzag along X, last row narrow",
    "one way along X",
    "one way along Y",
    "rectangular spiral",
    "whole circles",
];

/// The text to replace, its replacement, the code that must come first, and other codes that follow from the same
/// mistake.
type Mistake = (
    &'static str,
    &'static str,
    &'static str,
    &'static [&'static str],
);

const MISTAKES: &[Mistake] = &[
    ("G21 G17", "G17", "no-units", &[]),
    ("G21 G17", "G20 G21 G17", "conflict", &[]),
    ("G90 G94", "G94", "distance-unset", &[]),
    ("G54\n", "", "offset-unset", &[]),
    ("G54\n", "G55\n", "offset-differs", &[]),
    ("G54\n", "G54\nG10 L2 P1 Z0\n", "offset-written", &[]),
    ("G54\n", "G54\nG10 L1 P1 Z0\n", "tool-written", &[]),
    ("T1 M6\n", "M6\n", "tool-missing", &[]),
    ("T1 M6\n", "T2 M6\n", "tool-differs", &["length-tool"]),
    ("M9\n", "T1 M6\nM9\n", "tool-change", &[]),
    ("S1500 M3", "S1500", "spindle-off", &[]),
    ("S1500 M3", "S1500 M4", "spindle-left", &[]),
    ("S1500 M3", "M3", "speed-unset", &[]),
    ("S1500 M3", "S0 M3", "speed-unset", &[]),
    ("S1500 M3", "S15000 M3", "speed-high", &["chip-load"]),
    ("S1500 M3", "S50 M3", "speed-low", &["chip-load"]),
    ("S1500 M3", "S500 M3", "chip-load", &[]),
    ("T1 M6\nS1500 M3", "S1500 M3\nT1 M6", "spindle-off", &[]),
    ("M8\n", "", "coolant-off", &[]),
    ("M8\n", "M8\nM49\n", "override-off", &[]),
    ("M8\n", "M8\nG4 P2000\n", "dwell-long", &[]),
    ("M8\n", "M8\nG4\n", "missing-word", &[]),
    ("M8\n", "M8\nM77\n", "unknown-code", &["lost"]),
    ("M8\n", "M8\nG187\n", "unknown-code", &["lost"]),
    ("M8\n", "M8\nG51 X2\n", "not-followed", &["lost"]),
    ("M8\n", "M8\nM98 P77\n", "flow", &["lost"]),
    ("M8\n", "M8 (OPEN\n", "open-comment", &[]),
    ("M8\n", "M8 (A (B) C)\n", "comment-closed", &[]),
    ("M8\n", "M8 (A (B)\n", "nested-comment", &[]),
    ("M8\n", "M8\n\u{1}\n", "stray-byte", &[]),
    ("M8\n", "M8\n(T1 DIA 50 FACE MILL)\n", "cutter-comment", &[]),
    ("M8\n", "M8\n(2 INCH FACE MILL)\n", "cutter-comment", &[]),
    ("M8\n", "M8 M7 M3 M48 M1\n", "conflict", &[]),
    ("G43 H1 Z50", "G43 H2 Z50", "length-tool", &[]),
    ("G43 H1 Z50", "G43 Z50", "missing-word", &["lost"]),
    ("G1 Z0 F300", "G1 Z0", "feed-unset", &[]),
    ("G1 Z0 F300", "G1 Z0 F0", "feed-zero", &[]),
    ("G1 Z0 F300", "G1 Z0 F3", "feed-low", &[]),
    ("G1 Z0 F300", "G1 Z0 F9000", "feed-high", &[]),
    ("G1 Z0 F300", "G1 ZO F300", "bad-word", &[]),
    ("G1 Z0 F300", "G1 Z0,0 F300", "decimal-comma", &[]),
    ("G1 Z0 F300", "G1 Z F300", "bad-word", &[]),
    ("G1 Z0 F300", "G1 Z0 Z1 F300", "repeated-word", &[]),
    ("G1 Z0 F300", "G1 Z#5 F300", "unset-parameter", &["lost"]),
    ("G1 Z0 F300", "G1 Z0 F300 H4", "unused-word", &[]),
    ("G0 Z50\nM9", "M9", "end-low", &[]),
    ("M30\n", "", "no-end", &[]),
    ("M30\n", "M30\nG0 X0\n", "after-end", &[]),
    ("M9\n", "G91\nM9\n", "distance-end", &[]),
    ("M9\n", "%\nM9\n", "percent", &[]),
    ("M9\n", "G81 Z1 R2 F100 G98\nM9\n", "cycle", &[]),
    ("M8\n", "/M8\n", "block-delete", &[]),
    ("G94 ", "", "feed-mode-unset", &[]),
    ("G54\n", "G54\nG92 X0 Y0 Z0\n", "shift-active", &["lost"]),
];

fn looked_at(text: &str, setup: &Setup) -> Vec<&'static str> {
    let study = studied_by(text, setup, &dialect());
    let mut codes = Vec::new();
    for finding in &study.examination.findings {
        if finding.rule.grade > Grade::Note && !codes.contains(&finding.rule.code) {
            codes.push(finding.rule.code);
        }
    }
    codes
}

fn setup_with_tool() -> Setup {
    Setup {
        tool: Some(1),
        length_offset: None,
        ..setup()
    }
}

#[test]
fn each_planted_mistake_is_found_first_and_nothing_else() {
    let all = styles::all();
    let mut planted = 0;
    let mut wrong = Vec::new();
    for (from, to, code, more) in MISTAKES {
        for style in STYLES {
            let (_, text) = all.iter().find(|(name, _)| *name == style).unwrap();
            if !text.contains(from) {
                continue;
            }
            planted += 1;
            let codes = looked_at(&text.replacen(from, to, 1), &setup_with_tool());
            let mut expected = vec![*code];
            expected.extend(*more);
            let others: Vec<_> = codes.iter().filter(|c| !expected.contains(c)).collect();
            if codes.first() != Some(code) || !others.is_empty() {
                wrong.push(format!(
                    "{style}: {from:?} -> {to:?}: {codes:?}, expected {expected:?}"
                ));
            }
        }
    }
    assert!(planted >= 140, "{planted}");
    assert!(
        wrong.is_empty(),
        "{} of {planted}\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Mistakes in the path, each in the style that contains it.
#[test]
fn mistakes_in_the_path_are_found_first() {
    let all = styles::all();
    let mut wrong = Vec::new();
    for (style, from, to, code) in [
        (
            "zigzag along X, last row narrow",
            "Y45\nX-30\nY80",
            "Y55\nX-30\nY80",
            "step-over",
        ),
        (
            "zigzag along X, last row narrow",
            "Y80\nX230\nY95\nX-30\n",
            "",
            "edge",
        ),
        (
            "zigzag along X, last row narrow",
            "X230",
            "X150",
            "not-reached",
        ),
        (
            "zigzag along X, last row narrow",
            "G1 Z0 F300",
            "G1 Z-0.1 F300",
            "depth",
        ),
        (
            "zigzag along X, last row narrow",
            "G1 Z0 F300",
            "G1 Z0.1 F300",
            "depth",
        ),
        (
            "zigzag along X, last row narrow",
            "G0 X-30 Y10\n",
            "G0 X50 Y10\n",
            "plunge",
        ),
        (
            "zigzag along X, last row narrow",
            "X-30\nY80",
            "G0 X-30\nG1 Y80",
            "rapid-low",
        ),
        (
            "one way along X",
            "G0 Z5\nX-30 Y45",
            "G0 X-30 Y45",
            "rapid-low",
        ),
        (
            "two levels",
            "G0 Z5\nX-30 Y10\nG1 Z0",
            "G0 Y10\nX-20\nX230\nX-30\nG1 Z0",
            "rapid-low",
        ),
        ("whole circles", "I-48 J0", "I-44 J0", "not-reached"),
        ("zigzag along X, last row narrow", "X230", "X900", "travel"),
        (
            "whole circles",
            "G3 X148 Y50 I-48 J0",
            "G3 X148 Y50 I0 J0",
            "arc-wrong",
        ),
    ] {
        let (_, text) = all.iter().find(|(name, _)| *name == style).unwrap();
        assert!(text.contains(from), "{style}: {from:?}");
        let codes = looked_at(&text.replacen(from, to, 1), &setup_with_tool());
        if codes.first() != Some(&code) {
            wrong.push(format!(
                "{style}: {from:?} -> {to:?}: {codes:?}, expected {code}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Values read back from the control that differ from the program.
#[test]
fn values_read_back_are_compared_with_the_program() {
    let (_, text) = &styles::all()[1];
    let other = Setup {
        units: Some(Units::Inch),
        ..setup_with_tool()
    };
    assert_eq!(looked_at(text, &other), ["units-differ"]);
    let other = Setup {
        length_offset: Some(LengthOffset::Number(2)),
        ..setup_with_tool()
    };
    assert_eq!(looked_at(text, &other), ["length-differs"]);
    let far = Setup {
        plate: setup().plate.map(|plate| skimgate::program::setup::Plate {
            corner: Some([900.0, 900.0]),
            ..plate
        }),
        ..setup_with_tool()
    };
    assert_eq!(looked_at(text, &far), ["nothing-reached"]);
}
