//! Leaving a run in every way there is, and taking it up again.

use super::{takes_up, takes_up_homed};
use crate::operator::Sitting;
use crate::support::{Bench, told, values};
use rexpect::process::Signal;
use rustix::fs::OFlags;
use rustix::io::{FdFlags, fcntl_setfd};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::fs::OpenOptionsExt;

#[test]
fn ctrl_c_saves_and_the_run_resumes_at_the_same_question() {
    for (keys, more) in [("\x03", ""), ("30\x03", ""), ("30\x03", "--plain")] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).args(&[more]).walks();
        at.reaches_the_speed();
        at.presses(keys);
        at.sees("Saved. Cycle start is held.");
        at.ends(130);
        assert!(at.cursor_is_shown(), "{:?}", at.screen);
        let (mut at, shown) = takes_up(&bench);
        for part in [
            "It was left: Ctrl-C.",
            "Which cutter: c12",
            "Eye protection: worn",
            "AB has this run",
        ] {
            assert!(shown.contains(part), "`{part}` not in: {shown}");
        }
        at.is_shown(&["Spindle speed in the program"], "value in rpm");
        at.types("3000");
        at.is_shown(&["Spindle warm"], "time in min");
    }
}

#[test]
fn ctrl_c_at_the_line_that_a_word_asks_for_saves_too() {
    for (word, prompt) in [
        ("note", "note"),
        ("handover", "initials"),
        ("end", "give up"),
    ] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", word)]);
        at.is_shown(&[], prompt);
        at.presses("\x03");
        at.sees("Saved. Cycle start is held.");
        at.ends(130);
    }
}

#[test]
fn before_there_is_a_run_words_are_no_initials() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.is_told("initials", "?", &["or type `leave`"], "initials");
    at.types("back");
    at.is_shown(&["once a run is in hand"], "initials");
    at.types("a b");
    at.is_shown(&["initials are one to eight letters or digits"], "initials");
    at.types("stop");
    at.sees("Nothing was recorded by this.");
    at.ends(130);
    assert!(bench.runs().is_empty());
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "ab");
    at.sees("machine> ");
    at.presses("\x03");
    at.ends(130);
    assert!(bench.runs().is_empty());
}

#[test]
fn a_killed_walk_resumes_with_what_was_answered() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.goes(&[
        ("P1 in mm", "0"),
        ("P2 in mm", "-0.12"),
        ("shows now, mm", "0"),
        ("P3 in mm", "0.31"),
    ]);
    at.sees("P4 in mm> ");
    at.presses("0.0");
    at.is_cut_off();
    bench
        .run(&["gate"])
        .ended(3)
        .quietly()
        .tells(&["Touch the plate"]);
    let (mut at, shown) = takes_up_homed(&bench);
    assert!(
        shown.contains("It was left: broken off without a word."),
        "{shown}"
    );
    at.is_shown(&["Touch P4."], "P4 in mm");
    at.types("0.08");
    at.goes(&[("P5 in mm", "-0.05"), ("shows now, mm", "0")]);
    at.plans();
    at.is_shown(&["Hold point"], "initials");
    let shown = bench.shown();
    assert_eq!(values(&shown, "plane"), [0.01]);
    let resumed = told(&shown, "resumed");
    assert!(
        resumed[0].contains("after it was broken off"),
        "{resumed:?}"
    );
}

/// A terminal that can hang up: rexpect keeps the far side open, this does not.
struct Line {
    far: File,
    child: std::process::Child,
    screen: String,
}

impl Line {
    fn walks(bench: &Bench) -> Self {
        let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        // Inherited, the far side would stay open in the program itself.
        fcntl_setfd(&far, FdFlags::CLOEXEC).unwrap();
        grantpt(&far).unwrap();
        unlockpt(&far).unwrap();
        let name = ptsname(&far, Vec::new()).unwrap();
        let near = OpenOptions::new()
            .read(true)
            .write(true)
            .custom_flags(i32::try_from(OFlags::NOCTTY.bits()).unwrap())
            .open(name.to_str().unwrap())
            .unwrap();
        let mut command = bench.command_of("sh");
        command
            .arg("-c")
            .arg(format!("exec {}", Sitting::at(bench).words()));
        command
            .stdin(near.try_clone().unwrap())
            .stdout(near.try_clone().unwrap())
            .stderr(near);
        let child = command.spawn().unwrap();
        drop(command);
        Self {
            far: File::from(far),
            child,
            screen: String::new(),
        }
    }

    fn answers(&mut self, prompt: &str, text: &str) {
        self.sees(&format!("{prompt}> "));
        self.far.write_all(format!("{text}\r").as_bytes()).unwrap();
        self.sees("\n");
    }

    fn sees(&mut self, text: &str) {
        let mut some = [0; 512];
        while !self.screen.contains(text) {
            let n = self.far.read(&mut some).unwrap();
            self.screen.push_str(&String::from_utf8_lossy(&some[..n]));
        }
        let (_, rest) = self.screen.split_once(text).unwrap();
        self.screen = rest.to_owned();
    }
}

#[test]
fn a_terminal_that_hangs_up_leaves_a_run_that_resumes() {
    let bench = Bench::new();
    let mut line = Line::walks(&bench);
    line.answers("initials", "ab");
    line.answers("machine", "north");
    line.answers("choose", "c12");
    line.sees("choose> ");
    let Line { far, mut child, .. } = line;
    drop(far);
    let status = child.wait().unwrap();
    assert_eq!(status.code(), Some(130));
    let (mut at, shown) = takes_up(&bench);
    assert!(
        shown.contains("It was left: the terminal went away."),
        "{shown}"
    );
    at.is_shown(&["Which plate"], "choose");
}

#[test]
fn being_told_to_end_saves_as_ctrl_c_does() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.sees("choose> ");
    at.is_sent(Signal::SIGTERM);
    at.sees("Saved. Cycle start is held.");
    at.ends(130);
}

#[test]
fn ctrl_c_during_a_cut_leaves_the_machine_to_it_and_resuming_asks_how_it_ended() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.starts("roughing pass 1");
    bench.run(&["gate"]).ended(3).tells(&["a cut is under way"]);
    at.presses("\x03");
    at.sees("The machine goes on: this ends nothing there.");
    at.ends(130);
    assert!(at.cursor_is_shown(), "{:?}", at.screen);
    let (mut at, shown) = takes_up_homed(&bench);
    assert!(
        shown.contains("It was left: Ctrl-C during a cut."),
        "{shown}"
    );
    at.is_shown(
        &[
            "A cut is under way as far as the record knows, begun",
            "How did the cut end?",
        ],
        "how it ended",
    );
    at.types("back");
    at.is_shown(&["first say how it ended"], "how it ended");
    at.types("1");
    at.is_shown(&["the cut ran to its end"], "inspect");
}

#[test]
fn stopping_drops_the_sign_off_and_holds() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.answers("started", "stop a clamp is loose");
    at.is_shown(&["Stop the machine at the machine"], "why stopped");
    // Held before anybody has said why.
    bench
        .run(&["gate"])
        .ended(3)
        .tells(&["the machine was stopped, and nobody has said why"]);
    at.types("planned");
    at.sees("What was signed must be signed again.");
    at.ends(3);
    let json = bench.run(&["gate", "--json"]).ended(3).quietly().json();
    let holds = json["holds"].to_string();
    assert!(holds.contains("stopped: a clamp is loose"), "{holds}");
    assert!(holds.contains("the stop word was given"), "{holds}");
    let (mut at, shown) = takes_up_homed(&bench);
    assert!(
        shown.contains("It was left: stopped: a clamp is loose."),
        "{shown}"
    );
    at.is_shown(
        &["Asked again: no longer holds: the stop word was given"],
        "initials",
    );
}

#[test]
fn giving_up_takes_the_word_twice() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "end")]);
    at.is_shown(&["Type `give up` to do it"], "give up");
    at.types("cancel");
    at.is_shown(&["Not given up; the run goes on."], "choose");
    at.types("end");
    at.is_shown(&[], "give up");
    at.types("give up");
    at.sees("The run is given up.");
    at.ends(0);
    bench.run(&[]).ended(0).tells(&["No run is open."]);
    assert_eq!(bench.shown()["outcome"], "abandoned");
}

#[test]
fn a_second_terminal_is_refused_while_the_first_lives() {
    let bench = Bench::new();
    let mut first = Sitting::at(&bench).walks();
    first.goes(&[("initials", "ab"), ("machine", "north")]);
    first.sees("choose> ");
    let mut second = Sitting::at(&bench).walks();
    second.answers("run", "1");
    let holder = format!("process {}", first.number);
    second.ends(3);
    second.has_seen(&["north", &holder]);
    let mut third = Sitting::at(&bench).walks();
    third.goes(&[("run", "new"), ("initials", "cd"), ("machine", "north")]);
    third.ends(3);
    third.has_seen(&[&holder]);
    first.is_cut_off();
    let (mut fourth, _) = takes_up(&bench);
    fourth.is_shown(&["Which cutter"], "choose");
    assert_eq!(bench.runs().len(), 1);
}

#[test]
fn a_machine_with_an_open_run_takes_no_second_one() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "leave"),
    ]);
    at.ends(130);
    let mut at = Sitting::at(&bench).walks();
    at.is_told(
        "initials",
        "new machine",
        &["initials are one to eight letters or digits"],
        "initials",
    );
    at.types("new run");
    at.goes(&[("initials", "cd"), ("machine", "north")]);
    at.ends(3);
    at.has_seen(&["is still open on machine `north`"]);
    assert_eq!(bench.runs().len(), 1);
}
