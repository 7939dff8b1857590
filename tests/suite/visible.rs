//! Nothing that a file, a name or a person brings along steers the terminal: it is shown as `\uXXXX`.

use crate::operator::Sitting;
use crate::support::{Bench, ran, whole};

/// Clears the screen, renames the window, colours by one C1 byte, turns the direction, and begins a line of its own.
const FOREIGN: &str = "a\x1b[2J\x1b]0;t\x07\u{9b}31m\u{202e}\u{2067}\u{200f}\u{61c}\x7fz";

fn steers(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t'))
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// As a terminal gets it: without the colours of the program itself.
fn holds(shown: &str, what: &str) {
    assert!(!shown.contains(steers), "{what}: {shown:?}");
    assert!(
        shown.contains("a\\u001b[2J\\u001b]0;t\\u0007\\u009b31m\\u202e"),
        "{what}: {shown}"
    );
}

#[test]
fn names_and_arguments_are_shown_wherever_they_are_repeated() {
    let bench = Bench::new();
    bench.write(
        &format!("{FOREIGN}.yaml"),
        &format!("procedure: {FOREIGN}\n{FOREIGN}: 1\n"),
    );
    let file = format!("{FOREIGN}.yaml");
    bench.write("none.yaml", "operator: ab\n");
    let answers = bench.answers("all.yaml", whole(&[]));
    bench.walk(&answers).ended(0);
    let absent = format!("{FOREIGN}\nerror: x.yaml");
    for args in [
        &["check", &file] as &[&str],
        &["check", &file, "--plain"],
        &["check", &absent],
        &["check", &file, "--json"],
        &["walk", &file, "--answers", "none.yaml"],
        &["walk", &absent, "--answers", "none.yaml"],
        &["walk", &format!("--{FOREIGN}")],
        &[FOREIGN],
        &["walk", "--color", FOREIGN],
        &["program", &absent],
        &["program", "--explain", FOREIGN],
        &["plane", &absent, "--max-bite", "0.25mm"],
        &["plane", &absent, "--max-bite", "0.25mm", "--json"],
        &["record", "show", FOREIGN],
        &["gate", "--machine", FOREIGN],
        &["gate", "--machine", FOREIGN, "--json"],
        &["stock", "show", FOREIGN],
    ] {
        let mut command = bench.command();
        command.args(args).arg("--book").arg(bench.book());
        let ran = ran(command);
        holds(&format!("{}{}", ran.out, ran.err), &format!("{args:?}"));
        assert!(!ran.err.contains("\nerror: x.yaml"), "{ran:?}");
    }
}

#[test]
fn a_caret_stands_under_what_is_wrong_also_behind_something_shown() {
    let bench = Bench::new();
    bench.write("p.yaml", "procedure: p\n# \u{202e}\nbogus: 1 # \u{61c}\n");
    let ran = bench.run(&["check", "p.yaml"]).ended(2);
    let lines: Vec<&str> = ran.out.lines().collect();
    let at = lines
        .iter()
        .position(|l| l.contains("| bogus: 1 # \\u061c"))
        .unwrap();
    assert_eq!(
        lines[at + 1].find('^'),
        lines[at].find("bogus"),
        "{}",
        ran.out
    );
}

#[test]
fn json_means_what_was_written_and_csv_is_shown_only_on_a_terminal() {
    let bench = Bench::new();
    let answers = bench.answers("all.yaml", whole(&[("remarks", "\"x\\u009by\\u202ez\"")]));
    bench.walk(&answers).ended(0);
    let run = bench.only_run();
    let entries = bench.run(&["record", "export", &run]).ended(0);
    assert!(!entries.out.contains(steers), "{}", entries.out);
    assert!(entries.out.contains("x\\u009by\\u202ez"));
    let bodies = entries.out.lines().map(|line| {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        line["body"].as_str().unwrap().to_owned()
    });
    assert!(
        bodies
            .into_iter()
            .any(|body| body.contains("x\u{9b}y\u{202e}z"))
    );
    let shown = bench.run(&["record", "show", &run]).ended(0);
    assert!(
        !shown.out.contains(steers) && shown.out.contains("x\\u009by\\u202ez"),
        "{}",
        shown.out
    );
    let export = ["record", "export", &run, "--as", "csv"];
    let piped = bench.run(&export).ended(0);
    assert!(piped.out.contains("x\u{9b}y\u{202e}z"), "{}", piped.out);
    let sitting = Sitting::at(&bench);
    let words = sitting.other_command(&export.join(" "));
    let mut at = sitting.does(&words);
    let told = at.sees("x\\u009by\\u202ez");
    assert!(!told.contains(['\u{9b}', '\u{202e}']), "{told:?}");
    at.ends(0);
}

#[test]
fn a_walk_shows_what_stands_in_its_shop_file() {
    let bench = Bench::new();
    let shop = std::fs::read_to_string(crate::support::shipped("shop.yaml")).unwrap();
    let changed = shop.replace("title: The north mill", "title: \"x\\e[2Jy\\x9bz\\u202e\"");
    assert_ne!(changed, shop);
    let shop = bench.write("foreign.yaml", &changed);
    let mut at = Sitting::at(&bench).shop(shop).walks();
    at.answers("initials", "ab");
    let shown = at.sees("machine>");
    assert!(shown.contains("x\\u001b[2Jy\\u009bz\\u202e"), "{shown:?}");
    assert!(!shown.contains("\x1b[2J"), "{shown:?}");
    at.types("leave");
    at.ends(130);
}
