//! Plants every kind of mistake in a good facing program, one at a time: each must be found, and nothing else.

use super::detail::Figure;
use super::dialect::{Dialect, NoPoint};
use super::examine::{Examination, Verdict, examine};
use super::rules::table;
use super::setting::{LengthOffset, Units, WorkOffset};
use super::setup::{Plate, Setup};
use super::testing::{CUTTER, MILL};
use std::collections::BTreeSet;

/// An invented program: a plate of 240 x 120 mm from X30 Y30, 12 mm end mill, rows 7 mm apart.
const GOOD: &str = include_str!("../../checklists/answers/facing-12mm.nc");

/// The invented set-up for the program.
fn setup() -> Setup {
    Setup {
        plate: Some(Plate {
            size: [240.0, 120.0],
            corner: Some([30.0, 30.0]),
        }),
        cutter: Some(CUTTER),
        mill: Some(MILL),
        units: Some(Units::Millimetre),
        work_offset: Some(WorkOffset(1)),
        length_offset: Some(LengthOffset::Number(1)),
        tool: Some(1),
        lowest_z: Some(0.0),
        stock_top: Some(0.2),
        zero: Some([60.0, 40.0, -120.0]),
    }
}

fn examined(text: &str, dialect: &Dialect) -> Examination {
    examine(&mut text.as_bytes(), dialect, &setup()).unwrap()
}

fn codes(examined: &Examination) -> Vec<&'static str> {
    examined.counts.iter().map(|(code, _)| *code).collect()
}

/// A mistake: the text to replace, its replacement, and the codes that must be found, in order. The program has no
/// decimal points, so a value planted with one is itself a finding; and a second tool change leaves Z unknown.
type Planted = (&'static str, &'static str, &'static [&'static str]);

const PLANTED: &[Planted] = &[
    ("G21 G17", "G17", &["no-units"]),
    // A wrong unit makes everything wrong: the findings name each limit that it breaks.
    (
        "G21",
        "G20",
        &[
            "chip-load",
            "feed-high",
            "travel",
            "units-differ",
            "units-size",
        ],
    ),
    ("M30\n%", "G20\nM30\n%", &["units-differ", "units-mixed"]),
    ("G1 X21 Y34 F600", "G1 X21. Y34 F600", &["mixed-points"]),
    ("G90 ", "", &["distance-unset"]),
    ("M30\n%", "G91\nM30\n%", &["distance-end"]),
    ("G54\n", "", &["offset-unset"]),
    ("G54\n", "G55\n", &["offset-differs"]),
    ("G54\n", "G54\nG10 L2 P1 X0 Y0 Z0\n", &["offset-written"]),
    ("M8\n", "M8\nG92 X5 Y0\n", &["shift-active"]),
    ("G1 Z0 F250", "G1 Z0 F250 M5", &["spindle-off"]),
    ("T1 M6\nS4000 M3", "S4000 M3\nT1 M6", &["spindle-off"]),
    ("S4000 M3", "S4000", &["spindle-off"]),
    ("S4000 M3", "S4000 M4", &["spindle-left"]),
    ("S4000 M3", "M3", &["speed-unset"]),
    ("S4000 M3", "S0 M3", &["speed-unset"]),
    ("S4000 M3", "S12000 M3", &["chip-load", "speed-high"]),
    ("S4000 M3", "S150 M3", &["chip-load", "speed-low"]),
    (" F250", "", &["feed-unset"]),
    (" F250", " F0", &["feed-zero"]),
    (" F250", " F0.5", &["feed-low"]),
    (" F600", " F5000", &["chip-load", "feed-high"]),
    (" F600", " F60", &["chip-load"]),
    ("G94 ", "", &["feed-mode-unset"]),
    (
        "G94 G40",
        "G95 G40",
        &["chip-load", "feed-high", "feed-mode"],
    ),
    ("M8\n", "", &["coolant-off"]),
    ("M8\n", "M8\nM49\n", &["override-off"]),
    ("G0 G43 H1 Z30", "G0 Z30", &["length-unset"]),
    ("G43 H1", "G43 H2", &["length-differs", "length-tool"]),
    ("T1 M6", "T2 M6", &["length-tool", "tool-differs"]),
    ("T1 M6", "T1", &["tool-unchanged"]),
    (
        "G0 Z30\nM9",
        "G0 Z30\nT1 M6\nM9",
        &["after-change", "tool-change"],
    ),
    ("G0 Z5\nG1 Z0 F250", "G0 Z0\nG1 F250", &["rapid-beside"]),
    (
        "G0 X0 Y0\nM8\nG0 Z5\nG1 Z0 F250",
        "G0 X90 Y90\nM8\nG0 Z0\nG1 F250",
        &["rapid-plunge"],
    ),
    ("X279\nY41", "G0 X279\nG1 Y41", &["rapid-low"]),
    (
        "G0 G43 H1 Z30\nG0 X0 Y0",
        "G0 G43 H1\nG0 X0 Y0",
        &["after-change"],
    ),
    (
        "G0 Z30\nM9",
        "G0 Z5\nG0 X100 Y100 Z1\nG0 Z30\nM9",
        &["rapid-dip"],
    ),
    (
        "G0 Z30\nM9",
        "G0 Z30\nG28 Z0\nM9",
        &["home-dips", "home-unknown"],
    ),
    (
        "G0 Z5\nG1 Z0 F250",
        "G53 G0 Z0\nG0 X1 Y1\nG0 Z5\nG1 Z0 F250",
        &["home-unknown"],
    ),
    ("G1 Z0 F250", "G1 Z-0.03 F250", &["depth", "mixed-points"]),
    (
        "G1 Z0 F250",
        "G1 Z0.3 F250",
        &["air", "depth", "mixed-points"],
    ),
    (
        "G1 Z0 F250",
        "G1 Z-0.2 F250",
        &["bite", "depth", "mixed-points"],
    ),
    ("G0 X0 Y0\nM8", "G0 X150 Y90\nM8", &["plunge"]),
    ("G0 X0 Y0\nM8", "G0 X20 Y34\nM8", &[]),
    ("X279\nY41", "G2 X279 Y34 I300 J5\nG1 Y41", &["arc-wrong"]),
    ("X279\nY41", "X279\nG2 X279 Y41 R3\nG1", &["arc-wrong"]),
    (
        "X279\nY41",
        "X279\nG3 X279 Y41 I279 J37.5\nG1",
        &["arc-absolute", "mixed-points"],
    ),
    (
        "X279\nY41",
        "X279\nG3 X279 Y41 I0.001 J3.505\nG1",
        &["arc-mismatch", "mixed-points"],
    ),
    (
        "X279\nY41",
        "X279\nG3 X279 Y41 R3.5\nG1",
        &["arc-radius", "mixed-points"],
    ),
    ("G0 Z30\nM9", "G0 X400\nG0 Z30\nM9", &["rapid-beside"]),
    ("M8\n", "M8\nG10 L1 P1 Z0\n", &["tool-written"]),
    ("M8\n", "M8\nG4 P90\n", &["dwell-long"]),
    ("T1 M6", "M6", &["tool-missing"]),
    ("12 MM END MILL", "10 MM END MILL", &["cutter-comment"]),
    ("12 MM END MILL", "(12 MM) END MILL", &["comment-closed"]),
    ("%\n(INV", "\u{feff}%\n(INV", &["byte-order-mark"]),
    ("X279\nY41", "X279\n%\nY41", &["percent-middle"]),
    ("X279\nY41", "N5 X279\nN5 Y41", &["number-repeated"]),
    ("G1 X21 Y34", "G1 X21 YO34", &["bad-word"]),
    (
        "G0 Z5\nG1 Z0 F250",
        "G0 X20 Y60 Z5\nG1 X80 Z0 F250\nX21",
        &["ramp-entry"],
    ),
    ("G0 Z30\nM9", "G0 Z30\nG0 X600\nM9", &["travel"]),
    ("Y90\nX279\nY97\nX21\n", "", &["step-over"]),
    ("X21\nY146\nX279", "X21", &["edge"]),
    ("M30\n", "", &["no-end"]),
    ("M30\n%\n", "M30\n%\n(all of it)", &[]),
    ("M30\n%\n", "M30\nG0 X0\n%\n", &["after-end"]),
    ("%\n(INV", "(INV", &["percent"]),
    ("G0 Z30\nM9\nM5\nG0 X0 Y0\n", "M9\nM5\n", &["end-low"]),
    ("M5\n", "", &["end-spindle"]),
    ("M9\n", "", &["end-coolant"]),
    ("M8\n", "M8\nM0\n", &["stops"]),
    ("M8\n", "/M8\n", &["block-delete", "blocks-deleted"]),
    ("M8\n", "/G4 P1\nM8\n", &["blocks-deleted"]),
    ("M8\n", "M8\nM62\n", &["unknown-code"]),
    ("M8\n", "M8\nG68 X0 Y0 R10\n", &["not-followed"]),
    ("M8\n", "M8\nM98 P77\n", &["flow"]),
    ("M8\n", "M8\n#1=5\n", &[]),
    ("G1 Z0 F250", "G1 Z#5 F250", &["unset-parameter"]),
    ("M8\n", "M8 (oops\n", &["open-comment"]),
    ("M8\n", "M8 (a (b)\n", &["nested-comment"]),
    ("M8\n", "M8\n\u{1}\n", &["stray-byte"]),
    ("(INV", "(\u{e4}INV", &["stray-byte-comment"]),
    ("G1 X21 Y34", "G1 X2,1 Y34", &["decimal-comma"]),
    ("G1 X21 Y34", "G1 X2.1.5 Y34", &["bad-word"]),
    ("G1 X21 Y34", "G1 X Y34", &["bad-word"]),
    ("G1 X21 Y34", "G1 X21 X22 Y34", &["repeated-word"]),
    ("G1 X21 Y34", "G0 G1 X21 Y34", &["conflict"]),
    ("G1 X21 Y34", "G1 X[21 Y34", &["expression"]),
    ("G1 X21 Y34", "G1 X21 Y34 H3", &["unused-word"]),
    ("G1 X21 Y34", "N123456 G1 X21 Y34", &["line-number"]),
    ("M8\n", "M8\nG4\n", &["missing-word"]),
    ("G1 Z0 F250", "G80\nZ0 F250\nG1 Z0", &["no-motion"]),
    ("G21", "G71", &["old-units"]),
    ("M8\n", "M8\r\n", &["line-ends"]),
    (
        "X279\nG0 Z30",
        "X279\nG81 X279 Y146 R5 Z1 G99\nG80\nG0 Z30",
        &["cycle"],
    ),
];

#[test]
fn the_good_program_agrees() {
    let examined = examined(GOOD, &Dialect::default());
    assert_eq!(
        codes(&examined),
        [] as [&str; 0],
        "{:#?}",
        examined.findings
    );
    assert_eq!(examined.verdict, Verdict::Agrees);
    let sign = "which way X and Y count from home: a work zero with the wrong sign";
    assert_eq!(examined.not_judged, [sign]);
    let rows = examined.summary.rows.unwrap();
    // Written in the program: Y34 to Y146 in steps of 7.
    assert_eq!((rows.count, rows.step, rows.axis), (17, Some(7.0), 0));
    assert_eq!(
        format!("{:?}", examined.summary.extents.unwrap()[0]),
        "[0.0, 279.0]"
    );
}

#[test]
fn each_mistake_is_found_and_nothing_else() {
    let mut wrong = Vec::new();
    for (from, to, expected) in PLANTED {
        if !GOOD.contains(from) {
            wrong.push(format!("{from:?} is not in the program"));
        }
        let text = GOOD.replacen(from, to, 1);
        let examined = examined(&text, &Dialect::default());
        if codes(&examined) != *expected {
            wrong.push(format!(
                "{from:?} -> {to:?}: {:?}, expected {expected:?}",
                codes(&examined)
            ));
        }
        let grave = expected
            .iter()
            .filter_map(|c| table::rule(c))
            .map(|r| (r.grade, r.unsure))
            .max();
        if grave.is_none_or(|g| g.0 < super::rules::Grade::Look)
            != (examined.verdict == Verdict::Agrees)
        {
            wrong.push(format!(
                "{from:?} -> {to:?}: verdict {:?}",
                examined.verdict
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Mistakes that need another program or another dialect.
fn others() -> Vec<(String, Dialect, &'static str)> {
    let usual = Dialect::default;
    let strict = Dialect {
        no_point: NoPoint::Forbid,
        ..Dialect::default()
    };
    let plain = |text: &str| text.to_owned();
    vec![
        (plain(GOOD), strict, "no-point"),
        (plain(""), usual(), "nothing-cut"),
        (plain("G21 G90\nG0 X0 Y0\n"), usual(), "first-move"),
        (plain("G21 G90 G54\nG1 X1"), usual(), "cut-off"),
        (format!("G21 ({})\n", "a".repeat(300)), usual(), "long-line"),
        (
            format!("G21 ({})\n", "a".repeat(90_000)),
            usual(),
            "endless-line",
        ),
        (
            plain("G21 G90\nG1 X0.12345678901234567890 F9\n"),
            usual(),
            "digits",
        ),
        (
            plain("G21 G90 G18\nG0 X0 Y0 Z0\nG2 X2 I1 F100\n"),
            usual(),
            "plane-xy",
        ),
        (
            plain("G21 G90\nG0 X0 Y0 Z0\nG2 X2 I1 F100\n"),
            usual(),
            "plane-unset",
        ),
        (plain("G21 G90\nG0 X0\nG1 Z0 F100\n"), usual(), "lost"),
        (
            plain("G21 G90\nG0 Z9\nG0 X20 Y34\nG0 X0\nG1 Z0 X40 F100\n"),
            usual(),
            "start-over-plate",
        ),
    ]
}

/// Home is at one end of each axis, and coordinates count away from it, up or down; the sign of the work zero shows
/// which. By hand: the program goes from X0 to X279, from Y0 to Y146 and from Z0 to Z30, on a machine with 500 x 320 mm
/// and 200 mm down.
#[test]
fn every_axis_must_reach_from_the_work_zero() {
    for (zero, wrong) in [
        ([60.0, 40.0, -120.0], vec![]),
        ([0.0, 0.0, -30.0], vec![]),
        ([221.0, 174.0, -200.0], vec![]),
        ([-279.0, -320.0, -120.0], vec![]),
        ([-500.0, -146.0, -120.0], vec![]),
        (
            [221.1, 40.0, -120.0],
            vec!["X goes from 221.100 to 500.100"],
        ),
        ([-0.1, 40.0, -120.0], vec!["X goes from -0.100 to 278.900"]),
        (
            [-500.1, 40.0, -120.0],
            vec!["X goes from -500.100 to -221.100"],
        ),
        (
            [60.0, 174.1, -120.0],
            vec!["Y goes from 174.100 to 320.100"],
        ),
        (
            [60.0, 40.0, -200.1],
            vec!["Z goes from -200.100 to -170.100"],
        ),
        ([60.0, 40.0, -29.9], vec!["Z goes from -29.900 to 0.100"]),
        ([500.0, 40.0, 5.0], vec!["X goes", "Z goes"]),
    ] {
        let setup = Setup {
            zero: Some(zero),
            ..setup()
        };
        let found = examine(&mut GOOD.as_bytes(), &Dialect::default(), &setup).unwrap();
        let mm = |figure| match figure {
            Figure::Length(mm) => format!("{mm:.3}"),
            other => format!("{other:?}"),
        };
        let details: Vec<String> = found.findings.iter().map(|f| f.detail.text(&mm)).collect();
        assert_eq!(details.len(), wrong.len(), "{zero:?}: {details:?}");
        for (detail, wrong) in details.iter().zip(wrong) {
            assert!(detail.starts_with(wrong), "{zero:?}: {detail}");
        }
    }
}

/// Every length, feed and area in a finding is a figure, so that it is shown in the chosen unit: the words between
/// figures contain no unit of length and no decimal number, except minutes and percentages.
#[test]
fn every_length_in_a_finding_is_a_figure() {
    let planted = PLANTED
        .iter()
        .map(|(from, to, _)| (GOOD.replacen(from, to, 1), Dialect::default()));
    let others = others()
        .into_iter()
        .map(|(text, dialect, _)| (text, dialect));
    let mut figures = 0;
    for (text, dialect) in planted.chain(others) {
        for finding in examined(&text, &dialect).findings {
            let words = finding.detail.text(&|_| "#".to_owned());
            figures += words.matches('#').count();
            for (at, word) in words.split(' ').enumerate() {
                let next = words.split(' ').nth(at + 1).unwrap_or_default();
                let number = word.trim_start_matches(|c: char| c.is_ascii_uppercase());
                let decimal = number.contains('.') && number.parse::<f64>().is_ok();
                let unit = ["mm", "in", "mm/min", "mm2"].contains(&word.trim_end_matches(','));
                let fine = ["min", "%"].contains(&next.trim_end_matches(','));
                assert!(
                    fine || !(decimal || unit && at > 0 && words.contains("mm ")),
                    "{}: {words}",
                    finding.rule.code
                );
            }
        }
    }
    assert!(figures > 40, "{figures}");
}

#[test]
fn length_offsets_on_a_machine_without_them_are_found() {
    let mill = super::setup::Mill {
        length_offsets: Some(false),
        ..MILL
    };
    let setup = Setup {
        mill: Some(mill),
        length_offset: None,
        ..setup()
    };
    let found = examine(&mut GOOD.as_bytes(), &Dialect::default(), &setup).unwrap();
    assert_eq!(codes(&found), ["length-none"]);
}

#[test]
fn every_rule_has_a_program_that_breaks_it() {
    let mut seen: BTreeSet<&str> = PLANTED
        .iter()
        .flat_map(|(_, _, codes)| *codes)
        .copied()
        .collect();
    for (text, dialect, code) in others() {
        let found = codes(&examined(&text, &dialect));
        assert!(found.contains(&code), "{code}: {found:?} in {text:.80}");
        seen.insert(code);
    }
    // The coverage finds these; `study` judges them, and its own tests plant them.
    seen.extend(["not-reached", "nothing-reached"]);
    seen.insert("length-none");
    let all: Vec<&str> = table::all().iter().map(|r| r.code).collect();
    let never: Vec<&&str> = all.iter().filter(|c| !seen.contains(*c)).collect();
    assert!(never.is_empty(), "nothing breaks {never:?}");
}
