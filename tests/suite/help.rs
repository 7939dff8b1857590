//! What `--help` says: pinned whole, so that a change to it is seen, and every example in it tried.

use assert_cmd::Command;
use std::fmt::Write;
use std::path::Path;

fn skimgate(folder: &Path) -> Command {
    let mut command = Command::cargo_bin("skimgate").unwrap();
    command
        .env_clear()
        .env("SKIMGATE_BOOK", folder.join("book.sqlite3"))
        .current_dir(folder);
    command
}

fn help(folder: &Path, command: &[String]) -> String {
    let output = skimgate(folder)
        .args(command)
        .arg("--help")
        .output()
        .unwrap();
    assert!(output.status.success() && output.stderr.is_empty());
    // On Windows the program's name has an ending.
    String::from_utf8(output.stdout)
        .unwrap()
        .replace("skimgate.exe", "skimgate")
}

/// Every command with its help, the program's own first; found by what the help itself lists.
pub fn everything(folder: &Path) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut waiting = vec![Vec::new()];
    while let Some(command) = waiting.pop() {
        let text = help(folder, &command);
        let listed = text.lines().skip_while(|line| *line != "Commands:").skip(1);
        let names = listed
            .take_while(|line| !line.is_empty())
            .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
            .filter_map(|line| line.split_whitespace().next())
            .filter(|name| *name != "help");
        let mut below: Vec<Vec<String>> = names
            .map(|name| [command.clone(), vec![name.to_owned()]].concat())
            .collect();
        below.reverse();
        waiting.append(&mut below);
        found.push((
            ["skimgate".to_owned()]
                .into_iter()
                .chain(command)
                .collect::<Vec<_>>()
                .join(" "),
            text,
        ));
    }
    found
}

#[test]
fn the_whole_help() {
    let folder = tempfile::tempdir().unwrap();
    let mut all = String::new();
    for (command, text) in everything(folder.path()) {
        writeln!(all, "===== {command} --help\n{text}").unwrap();
    }
    insta::assert_snapshot!(all);
}

/// The words of an example, with `folder/*.ending` spelt out as a shell would.
fn words(folder: &Path, example: &str) -> Vec<String> {
    let spelt = |word: &str| {
        let Some((below, ending)) = word.split_once("/*") else {
            return vec![word.to_owned()];
        };
        let files = std::fs::read_dir(folder.join(below)).unwrap();
        let names = files.map(|file| file.unwrap().file_name().into_string().unwrap());
        let mut fitting: Vec<String> = names
            .filter(|name| name.ends_with(ending))
            .map(|name| format!("{below}/{name}"))
            .collect();
        fitting.sort();
        fitting
    };
    example.split_whitespace().skip(1).flat_map(spelt).collect()
}

/// The status that an example ends with where it is tried here: no terminal, and no run open.
fn expected(example: &str) -> i32 {
    let asks = example.starts_with("skimgate walk") && !example.contains("--answers");
    let rehearses = example.starts_with("skimgate rehearse --level");
    if asks || rehearses || example.starts_with("skimgate people add") {
        2
    } else if example.starts_with("skimgate gate") {
        3
    } else {
        0
    }
}

#[test]
fn every_example_in_the_help_runs() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    skimgate(folder.path()).arg("init").assert().success();
    std::fs::copy(at("checklists/base-plate.yaml"), at("my-plate.yaml")).unwrap();
    std::fs::copy(at("checklists/shop.yaml"), at("my-shop.yaml")).unwrap();

    let mut tried = 0;
    for (command, text) in everything(folder.path()) {
        for example in text
            .lines()
            .filter_map(|line| line.strip_prefix("  skimgate "))
        {
            let example = format!("skimgate {example}");
            // Where the output goes, or what a shell does next, is not this program's.
            let end = example.find(['&', '>']).unwrap_or(example.len());
            let first = example[..end].trim_end();
            let (typed, input) = first.split_once(" < ").unwrap_or((first, ""));
            let column = if typed.contains("--zero machine") {
                "machine"
            } else {
                "reading"
            };
            let touches = format!("# invented\npoint,{column}\nP1,0\nP2,-0.0012\nP3,0.0031\n");
            std::fs::write(at("touches.csv"), touches).unwrap();
            let input = if input.is_empty() {
                Vec::new()
            } else {
                std::fs::read(at(input)).unwrap()
            };
            let mut run = skimgate(folder.path());
            let output = run
                .args(words(folder.path(), typed))
                .write_stdin(input)
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(
                output.status.code(),
                Some(expected(&example)),
                "`{example}` in the help of {command}: {said}"
            );
            // What the argument reader refuses ends with the usage; a refusal for want of a terminal must not be that.
            assert!(
                !said.contains("Usage:"),
                "`{example}` in the help of {command}: {said}"
            );
            assert!(
                output.status.code() != Some(2) || said.contains("terminal"),
                "{said}"
            );
            tried += 1;
        }
    }
    assert!(tried >= 7, "only {tried} examples were found");
}
