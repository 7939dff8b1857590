//! A bench for tests of the whole program: a folder and a book of its own for each test, an environment with nothing in it
//! but what is given here, and what came back on both streams with the exit status.

use serde_json::Value;
use std::ffi::OsStr;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;

/// The machine program that the invented answers name.
pub const PROGRAM: &str = include_str!("../procedures/face-12.nc");

/// Whole answers for tests/procedures/small.yaml: the worked example of the touch-off, three roughing passes and one
/// finishing pass. Invented figures.
pub const WHOLE: [(&str, &str); 20] = [
    ("operator", "ab"),
    ("machine", "north"),
    ("cutter", "c12"),
    ("plate", "bed-a"),
    ("eyes", "worn"),
    ("home", "homed"),
    ("speed", "3000 rpm"),
    ("warm", "2 s"),
    ("nc", "face-12.nc"),
    (
        "corners",
        "{P1: 0, P2: -0.12, P3: 0.31, P4: 0.08, P5: -0.05}",
    ),
    ("low_places", "[none, touch]"),
    ("lows", "[{L1: -0.07}]"),
    ("clearance", "[0 mm, 0, 0.05 mm]"),
    ("standing", "[0, 0, -0.07]"),
    ("entry", "[-0.18, 0.18, 0.05]"),
    ("clear", "[ab, ab, ab]"),
    ("pass_cut", "[finished, finished, finished]"),
    ("look", "[skin left, skin left, clean]"),
    ("skim", "0.08"),
    ("finish_standing", "0"),
];

/// What follows `WHOLE`: from the finishing pass's entry to the end.
pub const ENDING: [(&str, &str); 4] = [
    ("finish_entry", "0.08"),
    ("clear_finish", "ab"),
    ("finish_cut", "finished"),
    ("remarks", "none"),
];

/// The shipped test file of that name.
pub fn shipped(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join("procedures")
        .join(name)
}

/// What a command came to.
#[derive(Debug)]
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Ran {
    /// Checks the exit status, showing both streams where it differs.
    pub fn ended(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{self:#?}");
        self
    }

    /// Checks that each part stands on standard error, whatever the line breaks.
    pub fn says(self, parts: &[&str]) -> Self {
        let told = flowing(&self.err);
        for part in parts {
            assert!(told.contains(part), "`{part}` not in: {}", self.err);
        }
        self
    }

    /// Checks that each part stands on standard output, whatever the line breaks.
    pub fn tells(self, parts: &[&str]) -> Self {
        let told = flowing(&self.out);
        for part in parts {
            assert!(told.contains(part), "`{part}` not in: {}", self.out);
        }
        self
    }

    /// Checks that standard error is empty.
    pub fn quietly(self) -> Self {
        assert_eq!(self.err, "", "{self:#?}");
        self
    }

    /// Checks that standard output is empty, as it is for a walk.
    pub fn prints_nothing(self) -> Self {
        assert_eq!(self.out, "", "{self:#?}");
        self
    }

    /// Standard output as one JSON object, whose first key is `format` in the text itself.
    pub fn json(&self) -> Value {
        let start: String = self.out.split_whitespace().take(1).collect();
        let text = self.out.trim_start_matches(['{', '\n', ' ']);
        assert!(text.starts_with("\"format\""), "{start}: {}", self.out);
        serde_json::from_str(&self.out).unwrap()
    }
}

/// Text with its line breaks and indents made single spaces.
pub fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A folder, a book and a program file for one test.
pub struct Bench {
    dir: TempDir,
}

impl Bench {
    pub fn new() -> Self {
        let dir = TempDir::new().unwrap();
        fs::write(dir.path().join("face-12.nc"), PROGRAM).unwrap();
        Self { dir }
    }

    /// Another, with a copy of the book. What the book says of files is still in this one's folder.
    pub fn copied(&self) -> Self {
        let other = Self::new();
        fs::copy(self.book(), other.book()).unwrap();
        other
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub fn write(&self, name: &str, text: &str) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, text).unwrap();
        path
    }

    pub fn book(&self) -> PathBuf {
        self.path("book.sqlite3")
    }

    /// The program in this bench's folder, with nothing in its environment but these.
    pub fn command(&self) -> Command {
        self.command_of(assert_cmd::cargo::cargo_bin!("skimgate"))
    }

    /// Any program in this bench's folder and environment.
    pub fn command_of(&self, program: impl AsRef<OsStr>) -> Command {
        let mut command = Command::new(program);
        command
            .current_dir(self.dir.path())
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", self.path("home"))
            .env("TERM", "xterm-256color");
        command
    }

    /// Runs a command on this bench's book.
    pub fn run(&self, args: &[&str]) -> Ran {
        let mut command = self.command();
        command.args(args).arg("--book").arg(self.book());
        ran(command)
    }

    /// Runs a command and reads its one JSON object; nothing may stand on standard error.
    pub fn json(&self, args: &[&str]) -> Value {
        self.run(args).ended(0).quietly().json()
    }

    /// Writes an answers file: a key and a value a line.
    pub fn answers<'a>(
        &self,
        name: &str,
        items: impl IntoIterator<Item = (&'a str, &'a str)>,
    ) -> PathBuf {
        let mut text = String::new();
        for (step, answer) in items {
            writeln!(text, "{step}: {answer}").unwrap();
        }
        self.write(name, &text)
    }

    /// Walks the small procedure from an answers file.
    pub fn walk(&self, answers: &Path) -> Ran {
        self.walk_with(answers, &shipped("small.yaml"), &[])
    }

    /// Walks a procedure from an answers file with further arguments.
    pub fn walk_with(&self, answers: &Path, procedure: &Path, more: &[&str]) -> Ran {
        let mut command = self.command();
        command
            .arg("walk")
            .arg(procedure)
            .arg("--shop")
            .arg(shipped("shop.yaml"))
            .arg("--answers")
            .arg(answers)
            .arg("--book")
            .arg(self.book())
            .args(more);
        ran(command)
    }

    /// The one run in the book, as `record show --json` tells it.
    pub fn shown(&self) -> Value {
        self.json(&["record", "show", &self.only_run(), "--json"])
    }

    /// The id of the one run in the book.
    pub fn only_run(&self) -> String {
        let runs = self.runs();
        assert_eq!(runs.len(), 1, "{runs:?}");
        runs[0]["run"].as_str().unwrap().to_owned()
    }

    /// Every run in the book, as `record list --json` tells it.
    pub fn runs(&self) -> Vec<Value> {
        let all = self.json(&["record", "list", "--json"]);
        all["runs"].as_array().unwrap().clone()
    }
}

/// Runs a command with nobody at its terminal.
pub fn ran(mut command: Command) -> Ran {
    let output = command.stdin(std::process::Stdio::null()).output().unwrap();
    Ran {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// `WHOLE` and `ENDING` with some of the answers put in place of theirs.
pub fn whole<'a>(changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let given = |step: &str| changed.iter().find(|(of, _)| *of == step);
    let items = WHOLE.iter().chain(&ENDING);
    items
        .map(|item| given(item.0).copied().unwrap_or(*item))
        .collect()
}

/// `whole` up to a step, without it.
pub fn until<'a>(step: &str, changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let items = whole(changed);
    items
        .into_iter()
        .take_while(|(of, _)| *of != step)
        .collect()
}

/// The values of one step in the order of its passes, from what `record show --json` tells.
pub fn values(shown: &Value, step: &str) -> Vec<f64> {
    let answers = shown["answers"].as_array().unwrap();
    answers
        .iter()
        .filter(|answer| answer["step"] == step)
        .map(|answer| answer["value_mm"].as_f64().unwrap())
        .collect()
}

/// Every event of a kind, as told.
pub fn told(shown: &Value, kind: &str) -> Vec<String> {
    let events = shown["events"].as_array().unwrap();
    events
        .iter()
        .filter(|event| event["kind"] == kind)
        .map(|event| event["told"].as_str().unwrap().to_owned())
        .collect()
}
