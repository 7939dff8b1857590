//! Signals at a terminal: its modes before, during and after, what is recorded, and what was typed. Invented figures.

use super::people::{LEARNER, register};
use crate::operator::{Operator, Sitting};
use crate::support::{Bench, told};
use rustix::termios::{LocalModes, Termios};
use std::process::Command;
use std::thread;
use std::time::Duration;

/// A walk of which the terminal's modes before it are known.
fn walks(bench: &Bench, more: &str) -> (Operator, Termios) {
    let sitting = Sitting::at(bench).args(&[more]);
    let words = format!("echo BEFORE.; read go; exec {}", sitting.words());
    let mut at = sitting.does(&words);
    at.sees("BEFORE.");
    let before = at.modes();
    at.types("");
    (at, before)
}

fn send(signal: &str, process: &str) {
    let sent = Command::new("kill").args(["-s", signal, process]).status();
    assert!(sent.unwrap().success(), "{signal}");
}

fn raw(modes: &Termios) -> bool {
    !modes
        .local_modes
        .intersects(LocalModes::ICANON | LocalModes::ECHO)
}

/// What differs between two ways a terminal is set; the type has no comparison of its own.
fn differences(left: &Termios, right: &Termios) -> Vec<&'static str> {
    let mut found = Vec::new();
    let mut compare = |name, same: bool| {
        if !same {
            found.push(name);
        }
    };
    compare("input", left.input_modes == right.input_modes);
    compare("output", left.output_modes == right.output_modes);
    compare("control", left.control_modes == right.control_modes);
    compare("local", left.local_modes == right.local_modes);
    let codes = |modes: &Termios| format!("{:?}", modes.special_codes);
    compare("codes", codes(left) == codes(right));
    found
}

const NONE: [&str; 0] = [];

/// Every signal that ends a program unless it is caught, but for those that cannot be caught and those by which the system
/// says that the program itself is broken: signal(7).
const ENDING: [&str; 16] = [
    "TERM", "HUP", "INT", "QUIT", "USR1", "USR2", "ALRM", "VTALRM", "PROF", "XCPU", "ABRT", "IO",
    "SYS", "TRAP", "34", "64",
];

#[test]
fn every_signal_that_ends_a_walk_saves_it_and_leaves_the_terminal_as_it_was() {
    let mut records = Vec::new();
    for signal in ENDING {
        let more = if signal == "USR2" { "--plain" } else { "" };
        let bench = Bench::new();
        let (mut at, before) = walks(&bench, more);
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        at.sees("choose> ");
        at.presses("c1");
        at.sees("c1");
        assert!(raw(&at.modes()), "{signal}");
        send(signal, &at.number);
        at.sees("Saved. Cycle start is held.");
        at.ends(130);
        assert_eq!(differences(&at.modes(), &before), NONE, "{signal}");
        assert!(at.cursor_is_shown(), "{signal}: {:?}", at.screen);
        records.push((signal, told(&bench.shown(), "paused")));
    }
    let (_, as_usual) = records[0].clone();
    assert_eq!(as_usual.len(), 1);
    for (signal, record) in records {
        assert_eq!(record, as_usual, "{signal}");
    }
}

#[test]
fn keys_that_signal_do_so_at_every_prompt() {
    for (keys, more) in [("\x1c", ""), ("3\x1c", "--plain")] {
        let bench = Bench::new();
        let (mut at, before) = walks(&bench, more);
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        at.sees("choose> ");
        at.presses(keys);
        at.sees("Saved. Cycle start is held.");
        at.ends(130);
        assert_eq!(differences(&at.modes(), &before), NONE);
        assert_eq!(told(&bench.shown(), "paused").len(), 1);
    }
}

#[test]
fn a_signal_during_a_cut_leaves_the_terminal_as_it_was() {
    let bench = Bench::new();
    let (mut at, before) = walks(&bench, "");
    at.reaches_the_hold_point();
    at.signs();
    at.starts("roughing pass 1");
    assert!(raw(&at.modes()));
    send("USR1", &at.number);
    at.sees("The machine goes on: this ends nothing there.");
    at.ends(130);
    assert_eq!(differences(&at.modes(), &before), NONE);
    assert!(at.cursor_is_shown(), "{:?}", at.screen);
}

/// A walk in a shell that watches its jobs, brought back with `fg` as often as a line is typed; the walk's own process.
fn walks_as_a_job(bench: &Bench, more: &str) -> (Operator, Termios, String) {
    let sitting = Sitting::at(bench).args(&[more]);
    let walk = sitting.words();
    let words = format!(
        "set -m; sh -c \"echo WALK \\$\\$.; exec {walk}\"; echo STOPPED; read go; fg; echo STOPPED; read go; fg; echo OVER $?."
    );
    let mut at = sitting.does(&words);
    let before = at.modes();
    at.sees("WALK ");
    let process = at.sees(".").replace('.', "");
    (at, before, process)
}

#[test]
fn a_walk_that_is_suspended_gives_the_terminal_back_and_goes_on_where_it_was() {
    for more in ["", "--plain"] {
        let bench = Bench::new();
        let (mut at, before, process) = walks_as_a_job(&bench, more);
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        at.sees("choose> ");
        at.presses("c1");
        at.sees("c1");
        let during = at.modes();
        assert!(raw(&during));
        at.presses("\x1a");
        at.sees("STOPPED");
        assert_eq!(differences(&at.modes(), &before), NONE);
        at.types("");
        // The prompt again, with what was typed; the rest of the answer follows.
        at.sees("choose> c1");
        assert_eq!(differences(&at.modes(), &during), NONE);
        at.types("2");
        at.answers("choose", "bed-a");
        at.sees("confirm> ");
        send("TSTP", &process);
        at.sees("STOPPED");
        assert_eq!(differences(&at.modes(), &before), NONE);
        at.types("");
        at.sees("confirm> ");
        at.types("worn");
        let after = at.sees("Machine homed");
        assert!(!after.contains("confirm> "), "drawn twice: {after:?}");
        at.sees("confirm> ");
        at.presses("\x03");
        at.sees("Saved. Cycle start is held.");
        at.sees("OVER 130.");
        at.ends(0);
        assert_eq!(differences(&at.modes(), &before), NONE);
        let shown = bench.shown();
        assert_eq!(shown["answers"].as_array().unwrap().len(), 4, "{shown}");
    }
}

#[test]
fn a_walk_that_was_stopped_unasked_sets_the_terminal_again() {
    let bench = Bench::new();
    let (mut at, _, process) = walks_as_a_job(&bench, "");
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.sees("choose> ");
    at.presses("c1");
    at.sees("c1");
    // This one cannot be caught, so the terminal stays as it is meanwhile.
    send("STOP", &process);
    at.sees("STOPPED");
    at.types("");
    at.sees("choose> c1");
    assert!(raw(&at.modes()));
    at.types("2");
    at.sees("choose> ");
}

/// No shell could bring it back.
#[test]
fn a_walk_without_a_shell_above_it_is_not_suspended() {
    let bench = Bench::new();
    let (mut at, _) = walks(&bench, "");
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.sees("choose> ");
    at.presses("\x1a");
    thread::sleep(Duration::from_millis(300));
    at.types("c12");
    at.answers("choose", "bed-a");
    at.sees("confirm> ");
}

/// The system's own line mode would take 4095 bytes and drop the rest in silence.
#[test]
fn a_line_longer_than_the_system_takes_is_recorded_whole() {
    let note = format!("{} end", "a long remark ".repeat(700).trim());
    assert!(note.len() > 2 * 4096);
    for more in ["", "--plain"] {
        let bench = Bench::new();
        let (mut at, _) = walks(&bench, more);
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        at.sees("choose> ");
        at.types(&format!("note {note}"));
        at.sees("Noted.");
        at.sees("choose> ");
        at.types("leave");
        at.ends(130);
        let notes = told(&bench.shown(), "noted");
        assert!(notes[0].contains(&note), "{}", notes[0].len());
    }
}

#[test]
fn at_a_hidden_prompt_too_nothing_is_shown_and_nothing_lost() {
    let bench = Bench::new();
    register(&bench);
    let (mut at, before, process) = walks_as_a_job(&bench, "");
    at.answers("initials", "cd");
    at.sees("PIN of CD (not shown)> ");
    let (first, rest) = LEARNER.split_at(3);
    at.presses(first);
    at.presses("\x1a");
    let shown = at.sees("STOPPED");
    assert_eq!(differences(&at.modes(), &before), NONE);
    at.types("");
    at.sees("PIN of CD (not shown)> ");
    assert!(raw(&at.modes()));
    at.types(rest);
    at.sees("machine> ");
    send("USR1", &process);
    at.sees("Nothing was recorded by this.");
    at.sees("STOPPED");
    assert_eq!(differences(&at.modes(), &before), NONE);
    at.types("");
    at.sees("OVER");
    assert!(!shown.contains(first), "{shown}");
}
