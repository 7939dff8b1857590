//! Plants every kind of mistake in a good facing program, one at a time: each must be found, and nothing else.

use super::detail::Figure;
use super::dialect::{Dialect, NoPoint};
use super::examine::{Examination, Verdict, examine};
use super::planted_list::{PLANTED, Points, others};
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

/// [`others`] with the dialect that each is read in.
fn others_read() -> Vec<(String, Dialect, &'static str)> {
    let dialect = |points: Points| match points {
        Points::AsWritten => Dialect::default(),
        Points::Required => Dialect {
            no_point: NoPoint::Forbid,
            ..Dialect::default()
        },
    };
    let all = others(GOOD).into_iter();
    all.map(|(text, points, code)| (text, dialect(points), code))
        .collect()
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
    let others = others_read()
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
    for (text, dialect, code) in others_read() {
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
