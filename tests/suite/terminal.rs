//! Walks at a real terminal, as a person types them. Invented figures; the worked example of the touch-off where a whole
//! walk is made.

use crate::operator::{Operator, Sitting, plain, widest};
use crate::support::{Bench, flowing, shipped, told, values};
use rexpect::process::Signal;
use rustix::fs::OFlags;
use rustix::io::{FdFlags, fcntl_setfd};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::thread;
use std::time::Duration;

/// The second roughing pass, the first one having left skin, and the finishing pass, to the end of the run.
fn finishes(at: &mut Operator) {
    at.answers("inspect", "skin left");
    at.goes(&[
        ("choose", "none"),
        ("value in mm", "0"),
        ("value in mm", "0"),
        ("shows now, mm", "0.18"),
    ]);
    at.signs();
    at.cuts("roughing pass 2");
    at.answers("inspect", "clean");
    at.goes(&[
        ("value in mm", "0.08"),
        ("value in mm", "0"),
        ("shows now, mm", "0.08"),
    ]);
    at.signs();
    at.cuts("finishing pass 1");
    at.answers("text", "none");
    at.sees("The run is complete and recorded.");
    at.ends(0);
}

fn whole_walk(at: &mut Operator) {
    at.reaches_the_hold_point();
    at.signs();
    at.cuts("roughing pass 1");
    finishes(at);
}

/// Takes the one open run up again; what is shown before the initials are asked.
fn takes_up(bench: &Bench) -> (Operator, String) {
    let mut at = Sitting::at(bench).walks();
    at.answers("run", "1");
    let shown = at.answers("initials", "ab");
    (at, flowing(&plain(&shown)))
}

#[test]
fn a_whole_walk_with_a_second_roughing_pass_because_the_first_left_skin() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).with("LC_ALL", "C.UTF-8").walks();
    whole_walk(&mut at);
    assert!(widest(&at.screen) <= 80, "{}", at.screen);
    assert!(at.cursor_is_shown());
    assert!(at.screen.contains("\x1b[31m"), "in colour: {:?}", at.screen);
    let shown = bench.shown();
    assert_eq!(shown["outcome"], "complete");
    assert_eq!(values(&shown, "plane"), [0.01, -0.17]);
    assert_eq!(values(&shown, "finish_plane"), [-0.25]);
    assert_eq!(told(&shown, "cut_started").len(), 3);
    let answers = shown["answers"].as_array().unwrap().iter();
    let means: Vec<_> = answers.filter_map(|a| a.get("means")).collect();
    assert_eq!(means, ["typed_with_code"; 3]);
}

#[test]
fn plain_has_no_escape_byte_in_a_whole_walk() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench)
        .with("LC_ALL", "C.UTF-8")
        .args(&["--plain"])
        .walks();
    whole_walk(&mut at);
    assert!(!at.screen.contains('\x1b'), "{:?}", at.screen);
    assert!(at.screen.is_ascii(), "{:?}", at.screen);
    assert!(widest(&at.screen) <= 80, "{}", at.screen);
}

#[test]
fn no_color_paints_nothing_and_a_wide_terminal_is_not_overrun() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench)
        .columns(120)
        .with("NO_COLOR", "1")
        .with("LC_ALL", "C.UTF-8")
        .walks();
    whole_walk(&mut at);
    assert!(widest(&at.screen) <= 120, "{}", at.screen);
    let sequences = at.screen.split('\x1b').skip(1);
    let paint: Vec<&str> = sequences
        .filter_map(|s| s.split_inclusive(|c: char| c.is_ascii_alphabetic()).next())
        .filter(|s| s.ends_with('m') && *s != "[0m")
        .collect();
    assert!(paint.is_empty(), "{paint:?}");
}

#[test]
fn a_walk_in_inches() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).args(&["--unit", "inch"]).walks();
    at.sets_up();
    at.goes(&[
        ("P1 in in", "0"),
        ("P2 in in", "-5 thou"),
        ("shows now, in", "0"),
        ("P3 in in", ".012"),
        ("P4 in in", "3/1000"),
        ("P5 in in", "-0.002"),
        ("shows now, in", "0"),
        ("value in in", "0"),
        ("value in in", "0"),
        ("shows now, in", "-.007"),
    ]);
    at.signs();
    at.cuts("roughing pass 1");
    at.answers("inspect", "clean");
    // The plane stands at 0, the lowest touch at -0.007 in; the finishing skim is 3 thou of at most 0.15 mm.
    at.goes(&[
        ("value in in", "3 thou"),
        ("value in in", "0"),
        ("shows now, in", "0.003"),
    ]);
    at.signs();
    at.cuts("finishing pass 1");
    at.answers("text", "none");
    at.ends(0);
    let shown = bench.shown();
    // Exact by definition of the inch: 25.4 mm.
    assert_eq!(values(&shown, "plane"), [0.0]);
    assert_eq!(values(&shown, "finish_plane"), [-0.0762]);
    assert_eq!(values(&shown, "found"), [0.3556]);
}

#[test]
fn slips_are_named_and_the_question_stands() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.touches();
    let value = "value in mm";
    at.is_told(value, "deep", &["Not taken:", "type one such as"], value);
    at.types("3000 rpm");
    at.is_shown(
        &["that is a spindle speed, and a length is asked for"],
        value,
    );
    at.types("-0.05");
    at.is_shown(
        &[
            "perhaps a minus sign was lost or added: 0.05 mm",
            "would fit",
        ],
        value,
    );
    at.types("0.6");
    at.is_shown(
        &["above the most allowed, 0.5 mm", "Nobody can waive this"],
        value,
    );
    at.types("0.2");
    at.is_shown(
        &[
            "Out of the expected range: 0.2 mm",
            "the reason for which AB accepts it",
        ],
        "reason",
    );
    at.types("no");
    at.is_shown(&[], value);
    at.types("0.2");
    at.is_shown(&[], "reason");
    at.types("a hollow beside P5");
    at.is_shown(&["accepted by AB: a hollow beside P5"], value);
    at.types("0.004 in");
    at.is_shown(&["Recorded: 0.1016 mm (0.004 in)"], "shows now, mm");
    at.types("leave");
    at.ends(130);
    let shown = bench.shown();
    assert_eq!(told(&shown, "refused").len(), 4);
    assert_eq!(values(&shown, "clearance"), [0.2]);
}

#[test]
fn a_sign_error_at_the_control_is_named() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.touches();
    at.goes(&[("value in mm", "0"), ("value in mm", "0")]);
    at.is_shown(&["Type -0.18 mm"], "shows now, mm");
    at.types("0.18");
    at.is_shown(
        &["shows +0.18 mm, and -0.18 mm", "the sign is wrong"],
        "shows now, mm",
    );
    at.types("-0.18");
    at.is_shown(&["read back the same"], "initials");
}

#[test]
fn going_back_to_an_entry_begins_with_its_reading() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "back");
    at.is_shown(
        &[
            "it is read again first",
            "Answered: 0 mm (0 in). Answer anew, or type `keep`.",
        ],
        "value in mm",
    );
    at.types("-0.18");
    at.is_shown(&["Type -0.18 mm"], "shows now, mm");
    at.types("-0.18");
    at.is_shown(&["Hold point"], "initials");
}

#[test]
fn a_program_changed_after_the_sign_off_drops_it_and_holds_the_start() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.is_shown(&["RELEASED: Cycle start, to AB, once"], "started");
    let _ = bench.run(&["gate"]).ended(0);
    bench.write("face-12.nc", "%\nG21\nG0 Z-5\nM30\n%\n");
    bench.run(&["gate"]).ended(3).tells(&["bytes changed"]);
    at.types("started");
    at.is_shown(
        &[
            "the file is not the one looked at; bytes changed",
            "this start was not released",
            "No longer holds (the program file changed):",
            "Hold point (roughing pass 1)",
            "Asked again: no longer holds: the program file changed",
        ],
        "file",
    );
    at.types("face-12.nc");
    // The readout was set for this pass already: it is read again before the entry is worked out from it.
    at.goes(&[("value in mm", "-0.18")]);
    at.is_shown(&["Type -0.18 mm"], "shows now, mm");
    at.types("-0.18");
    at.signs();
    at.cuts("roughing pass 1");
    at.answers("inspect", "leave");
    at.ends(130);
    assert_eq!(told(&bench.shown(), "cut_started").len(), 1);
}

#[test]
fn a_program_that_is_gone_at_the_hold_point_is_asked_for_again() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.sees("initials> ");
    std::fs::remove_file(bench.path("face-12.nc")).unwrap();
    at.types("ab");
    let code = at.reads_code();
    at.types(&code);
    at.is_shown(&["The program file cannot be read any more."], "file");
}

#[test]
fn ctrl_c_saves_and_the_run_resumes_at_the_same_question() {
    for (keys, more) in [("\x03", ""), ("30\x03", ""), ("30\x03", "--plain")] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).args(&[more]).walks();
        at.goes(&[
            ("initials", "ab"),
            ("machine", "north"),
            ("choose", "c12"),
            ("choose", "bed-a"),
            ("confirm", "worn"),
            ("confirm", "homed"),
        ]);
        at.sees("value in rpm> ");
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
    let (mut at, shown) = takes_up(&bench);
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
    let (mut at, shown) = takes_up(&bench);
    assert!(
        shown.contains("It was left: Ctrl-C during a cut."),
        "{shown}"
    );
    at.is_shown(
        &[
            "This cut was under way when the run was left.",
            "How did the cut end?",
        ],
        "how it ended",
    );
    at.types("back");
    at.is_shown(&["say first how it ended"], "how it ended");
    at.types("1");
    at.is_shown(&["the cut ran to its end"], "inspect");
}

#[test]
fn a_cut_that_was_stopped_is_signed_again() {
    for (keys, how) in [("stop chatter\r", "stopped"), ("\r", "asked")] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.reaches_the_hold_point();
        at.signs();
        at.starts("roughing pass 1");
        at.presses(keys);
        if how == "asked" {
            at.answers("how it ended", "2");
        }
        at.is_shown(
            &["the cut was stopped before its end", "Hold point"],
            "initials",
        );
        at.types("ab");
        let code = at.reads_code();
        at.types(&code);
        at.cuts("roughing pass 1");
        at.is_shown(&[], "inspect");
    }
}

#[test]
fn the_words_work_at_a_prompt() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
    ]);
    let value = "value in rpm";
    at.is_told(
        value,
        "?",
        &[
            "Why: Spindle speed in the program",
            "Too fast burns.",
            "at most 6000 rpm",
            "This step is `speed`.",
            "stop REASON:",
        ],
        value,
    );
    at.types("");
    at.is_shown(&["Nothing typed."], value);
    at.types("note the belt squeals");
    at.is_shown(&["Noted."], value);
    at.types("note");
    at.is_shown(&[], "note");
    at.types("a second one");
    at.is_shown(&["Noted."], value);
    at.types("holds");
    at.is_shown(
        &[
            "Cycle start is held,",
            "Hold point: not answered",
            "To clear:",
        ],
        value,
    );
    at.types("back");
    at.is_shown(
        &[
            "Machine homed",
            "Answered: homed. Answer anew, or type `keep`.",
        ],
        "confirm",
    );
    at.types("keep");
    at.is_shown(&["Spindle speed"], value);
    at.types("back nowhere");
    at.is_shown(&["There is no answered step `nowhere`"], value);
    at.types("3000");
    at.goes(&[("time in min", "2 s"), ("file", "face-12.nc")]);
    at.sees("P1 in mm> ");
    at.types("back cutter");
    at.is_shown(&["Answered: c12."], "choose");
    at.types("c16");
    at.is_shown(
        &[
            "No longer holds (Which cutter: answered again)",
            "The program",
        ],
        "value in rpm",
    );
    at.types("leave");
    at.ends(130);
    assert_eq!(
        told(&bench.shown(), "noted"),
        ["AB noted: the belt squeals", "AB noted: a second one"]
    );
}

#[test]
fn handing_over_asks_what_is_asked_of_the_person_again() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "handover AB");
    at.is_shown(&["AB has the run, as before."], "initials");
    at.types("handover");
    at.is_shown(&["To whom?"], "initials");
    at.types("cd");
    at.is_shown(
        &[
            "Handed over from AB to CD.",
            "operator CD",
            "answered by AB, and asked of the person",
        ],
        "confirm",
    );
    at.types("worn");
    at.is_shown(&["Hold point"], "initials");
    at.types("ab");
    at.is_shown(&["`AB` is not the operator of this run, CD"], "initials");
    at.types("cd");
    let code = at.reads_code();
    at.types(&code);
    at.is_shown(
        &["Signed by CD.", "RELEASED: Cycle start, to CD"],
        "started",
    );
    assert_eq!(bench.shown()["operator"], "CD");
}

#[test]
fn stopping_drops_the_sign_off_and_holds() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.answers("started", "stop a clamp is loose");
    at.is_shown(&["Stop the machine at the machine"], "emergency stop");
    at.types("no");
    at.sees("What was signed must be signed again.");
    at.ends(3);
    let json = bench.run(&["gate", "--json"]).ended(3).quietly().json();
    let holds = json["holds"].to_string();
    assert!(holds.contains("stopped: a clamp is loose"), "{holds}");
    assert!(holds.contains("the stop word was given"), "{holds}");
    let (mut at, shown) = takes_up(&bench);
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
fn stop_is_heeded_during_a_wait() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
        ("value in rpm", "3000"),
        ("time in min", "start"),
    ]);
    at.sees("Spindle warm");
    at.presses("stop smoke\r");
    at.answers("emergency stop", "emergency");
    at.sees("recorded as an emergency stop");
    at.ends(3);
    let stops = told(&bench.shown(), "stopped");
    assert_eq!(stops, ["AB stopped, emergency stop: smoke"]);
}

#[test]
fn a_wait_runs_to_its_end_by_itself_and_a_shorter_one_needs_a_reason() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
        ("value in rpm", "3000"),
        ("time in min", "1 s"),
    ]);
    at.is_shown(&["1 s is shorter than the 2 s asked for"], "reason");
    at.types("no");
    at.is_shown(&[], "time in min");
    at.types("start");
    at.is_shown(&["Recorded: 2 s"], "file");
}

#[test]
fn giving_up_takes_the_word_twice() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "end")]);
    at.is_shown(&["Type `give up` to do it"], "give up");
    at.types("no");
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
fn a_release_lapses() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let short = text.replace("release for: 5 min", "release for: 1 s");
    assert_ne!(short, text);
    let procedure = bench.write("short.yaml", &short);
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    thread::sleep(Duration::from_millis(1100));
    bench
        .run(&["gate"])
        .ended(3)
        .tells(&["the release has lapsed", "1 reason:"]);
    bench.run(&[]).ended(0).tells(&["cycle start is held"]);
    at.types("started");
    at.is_shown(
        &["the release has lapsed", "stop it at the machine"],
        "started",
    );
    assert!(told(&bench.shown(), "cut_started").is_empty());
    at.types("started");
    at.sees("Cutting. Press Enter");
    assert_eq!(told(&bench.shown(), "cut_started").len(), 1);
}

#[test]
fn the_gate_is_open_only_while_released() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.sees("initials> ");
    let _ = bench.run(&["gate"]).ended(3);
    at.types("ab");
    let code = at.reads_code();
    let _ = bench.run(&["gate"]).ended(3);
    at.types(&code);
    at.sees("started> ");
    bench
        .run(&["gate"])
        .ended(0)
        .quietly()
        .tells(&["RELEASED to AB on north"]);
    bench.run(&[]).ended(0).tells(&["cycle start is released"]);
    let json = bench.json(&["gate", "--json"]);
    assert_eq!(json["released"], true);
    assert_eq!(json["holds"].as_array().unwrap().len(), 0);
    let until: jiff::Timestamp = json["until"].as_str().unwrap().parse().unwrap();
    assert!(until > jiff::Timestamp::now());
    at.types("back clear");
    at.is_shown(&["or type `keep`"], "initials");
    at.types("keep");
    at.is_shown(&["RELEASED"], "started");
    at.types("leave");
    at.ends(130);
    bench
        .run(&["gate"])
        .ended(3)
        .tells(&["the run was left (left)"]);
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
    at.is_told("run", "7", &["`7` is none of them"], "run");
    at.types("new");
    at.goes(&[("initials", "cd"), ("machine", "north")]);
    at.ends(3);
    at.has_seen(&["is still open on machine `north`"]);
    assert_eq!(bench.runs().len(), 1);
}

#[test]
fn nothing_typed_ahead_or_pasted_signs_or_starts() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.sees("initials> ");
    at.presses("ab\rWXYZ\rstarted\r");
    let code = at.reads_code();
    at.has_seen(&["What was typed before this prompt was not taken."]);
    let _ = bench.run(&["gate"]).ended(3);
    at.types("wxyz");
    at.is_shown(
        &["that is not the code shown; sign again with a new one"],
        "initials",
    );
    at.types("ab");
    let other = at.reads_code();
    assert_ne!(code, other);
    at.types(&code);
    at.is_shown(&["that is not the code shown"], "initials");
    at.types("ab");
    let code = at.reads_code();
    at.presses(&format!("{code}\rstarted\r"));
    at.is_shown(
        &[
            "Signed by AB.",
            "RELEASED",
            "before this prompt was not taken",
        ],
        "started",
    );
    assert!(told(&bench.shown(), "cut_started").is_empty());
    at.types("yes");
    at.is_shown(&["type `started` once cycle start is pressed"], "started");
    assert!(told(&bench.shown(), "cut_started").is_empty());
}

#[test]
fn a_worked_out_value_over_a_hard_limit_sends_back_and_recovers() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.goes(&[
        ("P1 in mm", "0"),
        ("P2 in mm", "-0.9"),
        ("shows now, mm", "0"),
        ("P3 in mm", "-0.9"),
        ("shows now, mm", "0"),
        ("P4 in mm", "-0.9"),
        ("shows now, mm", "0"),
        ("P5 in mm", "0"),
    ]);
    at.is_shown(
        &[
            "2.7 mm",
            "above the most allowed, 2 mm",
            "Nobody can waive this",
            "`back corners`",
        ],
        "back STEP",
    );
    at.types("1.5");
    at.is_shown(&["a worked-out value cannot be typed"], "back STEP");
    at.types("holds");
    at.is_shown(&["Spread found: not answered"], "back STEP");
    at.types("back corners");
    at.is_shown(&["Answered: P1 0 mm"], "P1 in mm");
    at.types("0");
    at.goes(&[
        ("P2 in mm", "-0.12"),
        ("shows now, mm", "0"),
        ("P3 in mm", "0.31"),
        ("P4 in mm", "0.08"),
        ("P5 in mm", "-0.05"),
        ("shows now, mm", "0"),
    ]);
    at.is_shown(&["0.36 mm"], "value in mm");
    assert_eq!(values(&bench.shown(), "found"), [0.36]);
}

#[test]
fn touches_can_be_taken_back_added_to_and_begun_anew() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.answers("P1 in mm", "0");
    at.answers("P2 in mm", "0.12");
    at.answers("P3 in mm", "fix");
    at.is_shown(&["The last reading is taken back."], "P2 in mm");
    at.types("-0.12");
    at.is_shown(&["zero the Z readout here, tip on P2"], "shows now, mm");
    at.types("-0.12");
    at.is_shown(&["the readout still shows -0.12 mm"], "shows now, mm");
    at.types("0");
    at.is_shown(&[], "P3 in mm");
    at.types("extra M1 0.05");
    at.is_shown(&["height of M1", "-0.07 mm"], "P3 in mm");
    at.types("again");
    at.is_shown(&["The series begins anew."], "P1 in mm");
    at.types("6");
    at.is_shown(
        &["above the most allowed, 5 mm", "Nobody can waive this"],
        "P1 in mm",
    );
}

#[test]
fn a_step_over_every_pass_says_so_and_can_be_given_up() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let one = text.replace("at most: 4", "at most: 1");
    assert_ne!(one, text);
    let procedure = bench.write("one.yaml", &one);
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.cuts("roughing pass 1");
    at.answers("inspect", "skin left");
    at.is_shown(&["Every pass that this procedure allows is cut"], "inspect");
    bench
        .run(&["gate"])
        .ended(3)
        .tells(&["every pass is used up"]);
    at.types("end");
    at.is_shown(&[], "give up");
    at.types("give up");
    at.ends(0);
}
