//! Every command that reports takes `--json`, `--plain` and, where it shows lengths, `--unit`, and means the same by them.

use crate::support::{Bench, Ran, until};
use serde_json::Value;
use std::collections::BTreeSet;

/// A command that reports, and what its report has.
struct Report {
    /// The command as the help lists it.
    command: &'static str,
    /// Its arguments here; `RUN` stands for the run in the book.
    args: &'static [&'static str],
    /// Whether it shows lengths.
    lengths: bool,
}

const fn report(command: &'static str, args: &'static [&'static str], lengths: bool) -> Report {
    Report {
        command,
        args,
        lengths,
    }
}

const REPORTS: [Report; 16] = [
    report("skimgate", &[], false),
    // Reasons to hold name no length.
    report("skimgate gate", &["gate"], false),
    report(
        "skimgate plane",
        &[
            "plane",
            "--max-bite",
            "0.25mm",
            "--touch",
            "P1=0",
            "--touch",
            "P2=-0.12mm",
            "--at",
            "P1=0,0",
        ],
        true,
    ),
    report(
        "skimgate program",
        &[
            "program",
            "face-12.nc",
            "--shop",
            "shop.yaml",
            "--plate",
            "bed-a",
            "--cutter",
            "c12",
        ],
        true,
    ),
    report(
        "skimgate program",
        &["program", "--explain", "rapid-low"],
        false,
    ),
    report(
        "skimgate check",
        &["check", "shop.yaml", "faulty.yaml"],
        false,
    ),
    report("skimgate people list", &["people", "list"], false),
    report("skimgate people history", &["people", "history"], false),
    report("skimgate record list", &["record", "list"], false),
    report("skimgate record show", &["record", "show", "RUN"], true),
    report("skimgate record verify", &["record", "verify"], false),
    report("skimgate rehearse", &["rehearse", "--list"], false),
    report("skimgate rehearse", &["rehearse", "--scores"], false),
    report("skimgate stock list", &["stock", "list"], true),
    report("skimgate stock show", &["stock", "show", "bed-a"], true),
    report(
        "skimgate stock measure",
        &[
            "stock",
            "measure",
            "bed-a",
            "19.5mm",
            "--by",
            "ab",
            "--reason",
            "gauge",
            "--shop",
            "shop.yaml",
        ],
        true,
    ),
];

/// Commands that ask, change or write, and what holds others.
const OTHERS: [&str; 14] = [
    "skimgate walk",
    "skimgate people",
    "skimgate people add",
    "skimgate people change",
    "skimgate people retire",
    "skimgate people require",
    "skimgate people key",
    "skimgate people code",
    "skimgate record",
    "skimgate record export",
    "skimgate stock",
    "skimgate init",
    "skimgate help",
    "skimgate rehearse --demo",
];

/// A book with an open run, a plate's account and a list of nobody; a sound and a faulty file.
fn bench() -> Bench {
    let bench = Bench::new();
    std::fs::copy(
        crate::support::shipped("shop.yaml"),
        bench.path("shop.yaml"),
    )
    .unwrap();
    bench.write("faulty.yaml", "shop: x\nmachines: 3\n");
    bench.walk(&bench.answers("part.yaml", until("finish_entry", &[])));
    bench
}

fn run(bench: &Bench, report: &Report, more: &[&str]) -> Ran {
    let id = bench.only_run();
    let args = report
        .args
        .iter()
        .map(|a| if *a == "RUN" { id.as_str() } else { a });
    let args: Vec<&str> = args.chain(more.iter().copied()).collect();
    bench.run(&args)
}

/// No control characters but line ends.
fn plain(text: &str) -> bool {
    !text.chars().any(|c| c.is_control() && c != '\n')
}

#[test]
fn json_is_one_object_with_its_format_first_and_on_standard_output_alone() {
    let bench = bench();
    for report in &REPORTS {
        let ran = run(&bench, report, &["--json"]).quietly();
        let Value::Object(all) = ran.json() else {
            panic!("{:?}: {}", report.args, ran.out)
        };
        assert!(all["format"].is_u64(), "{:?}: {}", report.args, ran.out);
        assert!(all.len() > 1, "{:?}: {}", report.args, ran.out);
        // A unit changes what is shown to people; in JSON lengths are in millimetres.
        if report.lengths {
            let inch = run(&bench, report, &["--json", "--unit", "inch"]);
            assert_eq!(keys(&inch.json()), keys(&ran.json()), "{:?}", report.args);
        }
    }
}

/// Every key of a JSON value, at any depth.
fn keys(value: &Value) -> BTreeSet<String> {
    match value {
        Value::Object(all) => all
            .iter()
            .flat_map(|(key, below)| keys(below).into_iter().chain([key.clone()]))
            .collect(),
        Value::Array(all) => all.iter().flat_map(keys).collect(),
        _ => BTreeSet::new(),
    }
}

#[test]
fn a_unit_changes_the_lengths_that_are_shown() {
    let bench = bench();
    for report in &REPORTS {
        let [mm, inch] = ["mm", "inch"].map(|unit| run(&bench, report, &["--unit", unit]));
        if report.lengths {
            assert_eq!(
                (mm.code, &mm.err),
                (inch.code, &inch.err),
                "{:?}",
                report.args
            );
            assert_ne!(mm.out, inch.out, "{:?}", report.args);
            assert!(inch.out.contains(" in"), "{:?}: {}", report.args, inch.out);
        } else {
            assert_eq!(
                mm.code,
                Some(2),
                "{:?}: a unit that nothing is shown in",
                report.args
            );
        }
        run(&bench, report, &["--unit", "furlong"]).ended(2);
    }
}

#[test]
fn plain_text_has_no_control_characters_and_colour_has() {
    let bench = bench();
    for report in &REPORTS {
        let coloured = run(&bench, report, &["--color", "always"]);
        assert!(
            !plain(&coloured.out) || !coloured.out.contains('!'),
            "{:?}",
            report.args
        );
        let ran = run(&bench, report, &["--plain", "--color", "always"]);
        assert!(plain(&ran.out), "{:?}: {}", report.args, ran.out);
        assert!(plain(&ran.err), "{:?}: {}", report.args, ran.err);
        assert!(!ran.out.is_empty(), "{:?}", report.args);
    }
}

#[test]
fn a_failure_of_a_command_asked_for_json_is_one_object_on_standard_error() {
    let bench = bench();
    for args in [
        &["plane", "--max-bite", "x", "--touch", "P1=0"][..],
        &["program", "none.nc"],
        &["program", "--explain", "rapid-lov"],
        &["record", "show", "none"],
        &["stock", "show", "none"],
    ] {
        let ran = bench
            .run(&[args, &["--json"]].concat())
            .ended(2)
            .prints_nothing();
        let fault: Value = serde_json::from_str(&ran.err).unwrap();
        assert_eq!(fault["format"], 1, "{args:?}");
        assert!(
            fault["code"].is_string() && fault["error"].is_string(),
            "{}",
            ran.err
        );
        assert!(
            fault["help"].is_array() && fault.get("place").is_some(),
            "{}",
            ran.err
        );
    }
}

#[test]
fn every_command_is_either_a_report_or_known_not_to_be_one() {
    let bench = bench();
    let known: BTreeSet<&str> = REPORTS.iter().map(|r| r.command).chain(OTHERS).collect();
    let commands: BTreeSet<String> = crate::help::everything(&bench.path("."))
        .into_iter()
        .map(|(command, text)| {
            let json = text.lines().any(|l| l.trim_start().starts_with("--json"));
            let reports = REPORTS.iter().any(|r| r.command == command);
            assert_eq!(json, reports, "{command}");
            command
        })
        .collect();
    assert!(
        commands.iter().all(|c| known.contains(c.as_str())),
        "{commands:?}"
    );
}
