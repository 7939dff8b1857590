//! The README tells the truth: its pictures are real output, its example procedure checks, its commands parse.

use assert_cmd::Command;

const README: &str = include_str!("../../README.md");

/// The texts of all blocks fenced as `kind`.
fn blocks(kind: &str) -> Vec<&'static str> {
    let fence = format!("```{kind}\n");
    README
        .split(&fence)
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap_or(""))
        .collect()
}

#[test]
fn the_pictures_are_what_the_main_command_shows() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::cargo_bin("skimgate")
        .unwrap()
        .env_clear()
        .env("LANG", "C.UTF-8")
        .args([
            "walk",
            "--answers",
            "checklists/answers/two-roughing.yaml",
            "--book",
        ])
        .arg(folder.path().join("book.sqlite3"))
        .output()
        .unwrap();
    let shown = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{shown}");
    let pictures = blocks("console");
    assert!(pictures.len() >= 4);
    for picture in pictures {
        assert!(shown.contains(picture), "not in the output:\n{picture}");
    }
}

#[test]
fn the_example_procedure_has_no_fault() {
    for example in blocks("yaml") {
        let output = Command::cargo_bin("skimgate")
            .unwrap()
            .args(["check", "-"])
            .write_stdin(example)
            .output()
            .unwrap();
        let found = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(0), "{found}");
    }
}

/// Every `skimgate ...` command of the README, run where it only reads.
#[test]
fn the_commands_run() {
    let folder = tempfile::tempdir().unwrap();
    let mut ran = 0;
    for block in blocks("sh") {
        for line in block.replace("\\\n", " ").lines() {
            let line = line.split('#').next().unwrap_or("").trim();
            let Some(rest) = line.strip_prefix("skimgate ") else {
                continue;
            };
            let args: Vec<&str> = rest.split_whitespace().collect();
            let asks = args.first() == Some(&"walk") || args.starts_with(&["people", "add"]);
            let output = Command::cargo_bin("skimgate")
                .unwrap()
                .args(&args)
                .arg("--book")
                .arg(folder.path().join("book.sqlite3"))
                .output()
                .unwrap();
            // Without a terminal, what asks says so and asks nothing.
            let expected = if asks { 2 } else { 0 };
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(expected), "{line}: {said}");
            assert!(!asks || said.contains("is not a terminal"), "{said}");
            ran += 1;
        }
    }
    assert_eq!(ran, 10);
}
