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
    command.current_dir(root()).arg("check").env("NO_COLOR", "1");
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
    assert_eq!(files, names("expected"), "a file without its expectation, or the other way round");
}
