//! `skimgate check` from outside: every broken file against its expected report, JSON, exit status, standard input.
//!
//! `UPDATE_EXPECT=1 cargo test --test suite` writes the expected reports anew; read each before keeping it.

use assert_cmd::Command;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// `check` in the package's folder, colours off, whatever the environment says.
fn check() -> Command {
    let mut command = Command::cargo_bin("skimgate").unwrap();
    command
        .current_dir(root())
        .arg("check")
        .env("NO_COLOR", "1");
    command.env_remove("CLICOLOR_FORCE");
    command
}

/// Exit status and standard output; standard error must stay empty.
fn run(command: &mut Command) -> (i32, String) {
    let output = command.output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    let text = String::from_utf8(output.stdout).unwrap();
    (output.status.code().unwrap(), text)
}

fn names(ending: &str) -> BTreeSet<String> {
    let entries = fs::read_dir(root().join("tests/broken")).unwrap();
    let paths = entries.map(|e| e.unwrap().path());
    paths
        .filter(|p: &PathBuf| p.extension().is_some_and(|e| e == ending))
        .map(|p| p.file_stem().unwrap().to_string_lossy().into_owned())
        .collect()
}

#[test]
fn every_broken_file_is_reported_as_expected() {
    let update = std::env::var_os("UPDATE_EXPECT").is_some();
    let files = names("yaml");
    assert!(files.len() >= 45, "only {} broken files", files.len());
    let mut wrong = Vec::new();
    for name in &files {
        let (status, report) = run(check().arg(format!("tests/broken/{name}.yaml")));
        let expected_at = root().join(format!("tests/broken/{name}.expected"));
        if update {
            fs::write(&expected_at, &report).unwrap();
        }
        let expected = fs::read_to_string(&expected_at).unwrap_or_default();
        // Only what is worth a look leaves a file usable.
        let wanted = if expected.contains("error: ") { 2 } else { 0 };
        if report != expected || status != wanted || report.contains("nothing to mend") {
            wrong.push(format!("{name} (exit {status}):\n{report}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(
        files,
        names("expected"),
        "a file without its expectation, or the other way round"
    );
}

#[test]
fn the_files_that_ship_are_sound() {
    let files = [
        "checklists/base-plate.yaml",
        "checklists/shop.yaml",
        "tests/procedures/small.yaml",
        "tests/procedures/shop.yaml",
    ];
    let (status, report) = run(check().args(files));
    assert_eq!(
        (status, report.as_str()),
        (0, "4 files checked, nothing to mend\n")
    );
}

#[test]
fn all_faults_of_all_files_are_reported_at_once() {
    let (status, report) = run(check().args([
        "tests/broken/many-faults.yaml",
        "checklists/shop.yaml",
        "tests/broken/caution-unused.yaml",
        "tests/broken/unit-unknown.yaml",
    ]));
    assert_eq!(status, 2);
    assert!(report.matches("error: ").count() >= 8);
    let places = [
        "many-faults.yaml:54:16",
        "caution-unused.yaml:9:3",
        "unit-unknown.yaml:5:7",
    ];
    let found: Vec<_> = places.map(|p| report.find(p).unwrap()).into();
    assert!(found.is_sorted(), "not in the order asked for");
    assert!(
        report.ends_with("12 errors, 1 look in 3 of 4 files\n"),
        "{report}"
    );
}

#[test]
fn what_is_only_worth_a_look_leaves_a_file_usable() {
    let (status, report) = run(check().arg("tests/broken/phase-too-long.yaml"));
    assert_eq!(status, 0);
    assert!(report.ends_with("1 look in 1 file\n"));
}

#[test]
fn json_holds_every_finding_with_its_place() {
    let (status, text) = run(check().args([
        "--json",
        "tests/broken/many-faults.yaml",
        "checklists/shop.yaml",
        "no-such-file.yaml",
    ]));
    assert_eq!(status, 2);
    assert!(
        text.starts_with("{\"format\":1,"),
        "format is the first key"
    );
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let findings = json["findings"].as_array().unwrap();
    assert_eq!(
        usize::try_from(json["errors"].as_u64().unwrap()).unwrap(),
        findings.len() + 1
    );
    assert_eq!(json["files"][0]["kind"], "procedure");
    assert_eq!(json["files"][0]["name"], "broken");
    assert_eq!(json["files"][1]["kind"], "shop");
    assert_eq!(json["files"][1]["errors"], 0);
    assert_eq!(json["files"][2]["unreadable"], "there is no such file");
    let source = fs::read_to_string(root().join("tests/broken/many-faults.yaml")).unwrap();
    for finding in findings {
        let line = source
            .lines()
            .nth(usize::try_from(finding["line"].as_u64().unwrap()).unwrap() - 1);
        assert_eq!(finding["text"].as_str(), line);
        assert_eq!(finding["grade"], "error");
    }
    let dpth = findings
        .iter()
        .find(|f| f["message"] == "`dpth` is not known here")
        .unwrap();
    assert_eq!(
        (&dpth["line"], &dpth["column"], &dpth["end_column"]),
        (&32.into(), &16.into(), &20.into())
    );
    assert_eq!(dpth["help"], "did you mean `depth`?");
}

#[test]
fn standard_input_is_a_file_too() {
    let text = fs::read(root().join("tests/broken/unit-unknown.yaml")).unwrap();
    let (status, report) = run(check().arg("-").write_stdin(text));
    assert_eq!(status, 2);
    assert!(report.contains("--> <stdin>:5:7"), "{report}");
    let sound = fs::read(root().join("checklists/shop.yaml")).unwrap();
    let (status, report) = run(check().arg("-").write_stdin(sound));
    assert_eq!(
        (status, report.as_str()),
        (0, "1 file checked, nothing to mend\n")
    );
}

#[test]
fn files_that_cannot_be_read_are_named_and_the_others_checked() {
    let folder = tempfile::tempdir().unwrap();
    let large = folder.path().join("large.yaml");
    fs::write(&large, "# far too long\n".repeat(300_000)).unwrap();
    let (status, report) = run(check()
        .arg("no-such-file.yaml")
        .arg("tests")
        .arg(&large)
        .arg("tests/broken/unit-unknown.yaml"));
    assert_eq!(status, 2);
    for part in [
        "no such file",
        "it is a folder",
        "larger than 4 MiB",
        "`cm` is not a unit",
    ] {
        assert!(report.contains(part), "{part} in {report}");
    }
    assert!(report.ends_with("4 errors in 4 of 4 files\n"), "{report}");
}

#[test]
fn without_a_file_it_says_how_it_is_used() {
    let output = check().output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("<FILE>..."));
}

#[test]
fn of_a_file_full_of_faults_the_first_are_shown_and_all_are_counted() {
    let mut text = "format: 1\nshop: Broken bench\n".to_owned();
    for i in 0..1000 {
        text.push_str(&format!("key {i}: x\n"));
    }
    let (status, report) = run(check().arg("-").write_stdin(text.clone()));
    assert_eq!(status, 2);
    assert_eq!(report.matches("error: ").count(), 200);
    // The three lists of a shop file are missing besides.
    assert!(
        report.contains("<stdin>: 803 more; mend these first"),
        "{report}"
    );
    assert!(report.ends_with("1003 errors in 1 file\n"));
    let (_, report) = run(check().args(["--json", "-"]).write_stdin(text));
    let json: serde_json::Value = serde_json::from_str(&report).unwrap();
    assert_eq!(json["errors"], 1003);
    assert_eq!(json["files"][0]["not_listed"], 803);
    assert_eq!(json["findings"].as_array().unwrap().len(), 200);
}
