//! The desk on a real terminal: this test binary runs itself inside a pseudo-terminal, as a person's program would be.
//!
//! `acts` is the program: it asks what the variable tells it to and says on standard output what came back. It is ignored
//! unless it is called by name, which only the tests here do.

use rexpect::process::Signal;
use rexpect::session::{PtySession, spawn_command};
use rustix::fs::OFlags;
use rustix::io::{FdFlags, fcntl_setfd};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use skimgate::procedure::model::SignalWord;
use skimgate::report::page::{Page, PageFact};
use skimgate::terminal::prompt::{PromptError, Prompter, Question, QuestionPart, Terminal, Wait};
use skimgate::terminal::screen::{Color, Screen, Style, StyleInputs, adopt};
use std::fs::{File, OpenOptions};
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

const ACT: &str = "SKIMGATE_TEST_ACT";
const PATIENCE: u64 = 20_000;

fn style() -> Style {
    let plain = std::env::var("SKIMGATE_TEST_PLAIN").is_ok();
    let columns = std::env::var("SKIMGATE_TEST_COLUMNS").ok();
    Style::decide(&StyleInputs {
        color: Color::Always,
        plain,
        term: Some("xterm-256color".into()),
        utf8: true,
        terminal: true,
        columns: columns.and_then(|c| c.parse().ok()),
        ..StyleInputs::default()
    })
}

#[test]
#[ignore = "the program the other tests run in a terminal"]
fn acts() {
    let style = style();
    adopt(&style, &style);
    let mut prompter = match Terminal::open(Screen::new(style)) {
        Ok(prompter) => prompter,
        Err(PromptError::NoTerminal { stream }) => return println!("REFUSED: {stream}."),
        Err(error) => panic!("{error}"),
    };
    let reading = Question::new("reading in mm", "corners", QuestionPart::Point("P1".into()));
    let told = |prompter: &mut Terminal| println!("REPLY: {:?}.", prompter.ask(&reading).unwrap());
    match std::env::var(ACT).unwrap().as_str() {
        "ask" => {
            prompter.show(&page()).unwrap();
            told(&mut prompter);
        }
        "ask twice" => {
            told(&mut prompter);
            told(&mut prompter);
        }
        "busy, then ask" => {
            println!("BUSY.");
            thread::sleep(Duration::from_millis(600));
            told(&mut prompter);
        }
        "busy" => {
            println!("BUSY.");
            thread::sleep(Duration::from_secs(15));
            println!("STILL HERE.");
        }
        "watch" => {
            let watch = Wait {
                title: "rough cut",
                expected: Some(Duration::from_secs(2)),
                limit: None,
                before: Duration::ZERO,
            };
            println!("WATCHED: {:?}.", prompter.watch(&watch).unwrap());
            told(&mut prompter);
        }
        "watch a second" => {
            let watch = Wait {
                title: "warm-up",
                expected: Some(Duration::from_secs(1)),
                limit: Some(Duration::from_secs(1)),
                before: Duration::ZERO,
            };
            println!("WATCHED: {:?}.", prompter.watch(&watch).unwrap());
        }
        other => panic!("no such act: {other}"),
    }
    println!("DONE.");
}

fn page() -> Page {
    Page::new()
        .heading("Touch off", 3, 9)
        .status([PageFact::new("machine", "small mill")])
        .signal(
            SignalWord::Warning,
            "The cutter turns: keep hands and sleeves away from it.",
        )
        .text("Lower the cutter over P1 until it just marks the plate, and read the Z readout.")
}

/// This binary, told to act, as words for a shell.
fn acting() -> String {
    let program = std::env::current_exe().unwrap();
    format!(
        "'{}' --exact prompter::acts --ignored --nocapture --color never",
        program.display()
    )
}

fn shell(act: &str, script: &str) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", script]).env(ACT, act);
    for name in ["SKIMGATE_TEST_PLAIN", "SKIMGATE_TEST_COLUMNS", "NO_COLOR"] {
        command.env_remove(name);
    }
    command
}

fn spawn(command: Command) -> PtySession {
    spawn_command(command, Some(PATIENCE)).unwrap()
}

/// Acts in a terminal of 80 columns that echoes, as terminals do.
fn run(act: &str) -> PtySession {
    let script = format!("stty cols 80 rows 24 echo; exec {}", acting());
    spawn(shell(act, &script))
}

fn run_plain(act: &str) -> PtySession {
    let script = format!("stty cols 80 rows 24 echo; exec {}", acting());
    let mut command = shell(act, &script);
    command.env("SKIMGATE_TEST_PLAIN", "1");
    spawn(command)
}

fn both() -> [fn(&str) -> PtySession; 2] {
    [run, run_plain]
}

/// Types as a person does, after the prompt has appeared.
fn types(session: &mut PtySession, keys: &str) {
    thread::sleep(Duration::from_millis(100));
    session.send(keys).unwrap();
    session.flush().unwrap();
}

fn shows_its_cursor(screen: &str) -> bool {
    match (screen.rfind("\x1b[?25l"), screen.rfind("\x1b[?25h")) {
        (Some(hidden), Some(shown)) => hidden < shown,
        (Some(_), None) => false,
        (None, _) => true,
    }
}

#[test]
fn a_line_is_taken_as_typed() {
    for run in both() {
        let mut session = run("ask");
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "-0.15\x7f2 mm\r");
        session.exp_string("REPLY: Said(\"-0.12 mm\").").unwrap();
        session.exp_string("DONE.").unwrap();
    }
}

#[test]
fn enter_alone_is_an_empty_answer() {
    for run in both() {
        let mut session = run("ask");
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "\r");
        session.exp_string("REPLY: Said(\"\").").unwrap();
    }
}

#[test]
fn ctrl_c_interrupts_and_leaves_the_cursor_visible() {
    for keys in ["\x03", "0.1\x03"] {
        for run in both() {
            let mut session = run("ask");
            let mut screen = session.exp_string("reading in mm> ").unwrap();
            types(&mut session, keys);
            screen.push_str(&session.exp_string("REPLY: Interrupted.").unwrap());
            assert!(shows_its_cursor(&screen), "{screen:?}");
            session.exp_string("DONE.").unwrap();
        }
    }
}

#[test]
fn being_told_to_end_interrupts_the_question_once() {
    for run in both() {
        let mut session = run("ask twice");
        session.exp_string("reading in mm> ").unwrap();
        thread::sleep(Duration::from_millis(200));
        session.process_mut().signal(Signal::SIGTERM).unwrap();
        session.exp_string("REPLY: Interrupted.").unwrap();
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "0.2\r");
        session.exp_string("REPLY: Said(\"0.2\").").unwrap();
    }
}

#[test]
fn ctrl_c_while_busy_interrupts_the_next_question() {
    for run in both() {
        let mut session = run("busy, then ask");
        session.exp_string("BUSY.").unwrap();
        types(&mut session, "\x03");
        session.exp_string("REPLY: Interrupted.").unwrap();
        session.exp_string("DONE.").unwrap();
    }
}

#[test]
fn a_second_ctrl_c_while_busy_leaves_at_once_with_130() {
    let script = format!(
        "stty cols 80 echo; trap '' INT; {}; echo STATUS $?.",
        acting()
    );
    // An ignored signal is inherited as ignored, but the desk installs its own handler over it.
    let mut session = spawn(shell("busy", &script));
    session.exp_string("BUSY.").unwrap();
    let since = Instant::now();
    types(&mut session, "\x03");
    thread::sleep(Duration::from_millis(400));
    types(&mut session, "\x03");
    let screen = session.exp_string("STATUS 130.").unwrap();
    assert!(since.elapsed() < Duration::from_secs(10));
    assert!(!screen.contains("STILL HERE"));
    assert!(screen.contains("\x1b[?25h"), "{screen:?}");
}

#[test]
fn ctrl_d_on_an_empty_line_is_the_end_of_input() {
    for run in both() {
        let mut session = run("ask");
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "\x04");
        session.exp_string("REPLY: Closed.").unwrap();
        session.exp_string("DONE.").unwrap();
    }
}

#[test]
fn what_was_typed_before_the_prompt_is_not_taken_and_that_is_said() {
    for early in ["y\r", "y"] {
        for run in both() {
            let mut session = run("busy, then ask");
            session.exp_string("BUSY.").unwrap();
            session.send(early).unwrap();
            session.flush().unwrap();
            session
                .exp_string("before this prompt was not taken")
                .unwrap();
            session.exp_string("reading in mm> ").unwrap();
            types(&mut session, "0.3\r");
            session.exp_string("REPLY: Said(\"0.3\").").unwrap();
        }
    }
}

#[test]
fn nothing_is_said_of_typing_when_nothing_was_typed() {
    for run in both() {
        let mut session = run("busy, then ask");
        session.exp_string("BUSY.").unwrap();
        let screen = session.exp_string("reading in mm> ").unwrap();
        assert!(!screen.contains("not taken"), "{screen:?}");
    }
}

#[test]
fn a_pasted_pair_of_lines_answers_one_question_only() {
    for run in both() {
        let mut session = run("ask twice");
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "0.11\r0.22\r");
        session.exp_string("REPLY: Said(\"0.11\").").unwrap();
        session.exp_string("not taken").unwrap();
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "0.33\r");
        session.exp_string("REPLY: Said(\"0.33\").").unwrap();
    }
}

#[test]
fn without_a_terminal_to_read_or_write_the_desk_is_refused_and_waits_for_nothing() {
    for (around, stream) in [
        ("echo 0.25 | PROGRAM", "standard input"),
        ("PROGRAM < /dev/null", "standard input"),
        ("PROGRAM 2> /dev/null", "standard error"),
    ] {
        let since = Instant::now();
        let mut session = spawn(shell("ask", &around.replace("PROGRAM", &acting())));
        session.exp_string(&format!("REFUSED: {stream}.")).unwrap();
        session.exp_eof().unwrap();
        assert!(since.elapsed() < Duration::from_secs(10));
    }
}

#[test]
fn plain_has_no_escape_byte_at_all() {
    for act in ["ask", "watch"] {
        let mut session = run_plain(act);
        let mut screen = String::new();
        if act == "watch" {
            screen.push_str(&session.exp_string("rough cut: begun").unwrap());
            thread::sleep(Duration::from_millis(700));
            session.send("\r").unwrap();
            session.flush().unwrap();
            screen.push_str(&session.exp_string("WATCHED: Enter").unwrap());
        }
        screen.push_str(&session.exp_string("reading in mm> ").unwrap());
        types(&mut session, "0.1\x7f2\r");
        screen.push_str(&session.exp_eof().unwrap());
        assert!(screen.contains("REPLY: Said(\"0.2\")"), "{screen:?}");
        // The terminal itself erases with a backspace and a space; an escape would be ours.
        assert!(!screen.contains('\x1b'), "{screen:?}");
        assert!(screen.is_ascii(), "{screen:?}");
    }
}

#[test]
fn pages_follow_the_width_of_the_terminal() {
    let widest = |columns: usize| {
        let script = format!("stty cols {columns} rows 24 echo; exec {}", acting());
        let mut session = spawn(shell("ask", &script));
        let screen = session.exp_string("reading in mm> ").unwrap();
        let (_, page) = screen.split_once("phase").unwrap();
        page.lines().map(|l| l.chars().count()).max().unwrap()
    };
    // 120 is drawn as 100: the heading's rule fills its line. Paint and the word before the split account for the rest.
    let (narrow, usual, wide) = (widest(50), widest(80), widest(120));
    assert!(narrow < usual && usual < wide, "{narrow} {usual} {wide}");
}

#[test]
fn a_narrow_terminal_is_asked_without_editing() {
    let script = format!("stty cols 30 rows 24 echo; exec {}", acting());
    let mut session = spawn(shell("ask", &script));
    session.exp_string("reading in mm> ").unwrap();
    types(&mut session, "0.15\r");
    session.exp_string("REPLY: Said(\"0.15\").").unwrap();
}

#[test]
fn enter_ends_a_wait_and_the_next_question_is_asked_afresh() {
    for run in both() {
        let mut session = run("watch");
        session.exp_string("rough cut").unwrap();
        thread::sleep(Duration::from_millis(1200));
        types(&mut session, "\r");
        let (_, seconds) = session
            .exp_regex(r"WATCHED: Enter \{ elapsed: 1\.\d+s")
            .unwrap();
        assert!(!seconds.is_empty());
        session.exp_string("said: \"\"").unwrap();
        session.exp_string("reading in mm> ").unwrap();
        types(&mut session, "0.1\r");
        session.exp_string("REPLY: Said(\"0.1\").").unwrap();
    }
}

#[test]
fn a_wait_ends_at_its_limit_or_by_ctrl_c() {
    for run in both() {
        let mut session = run("watch a second");
        session.exp_string("WATCHED: Reached.").unwrap();
        let mut session = run("watch");
        session.exp_string("rough cut").unwrap();
        types(&mut session, "\x03");
        session.exp_string("WATCHED: Interrupted.").unwrap();
    }
}

#[test]
fn echo_is_back_after_a_wait() {
    let script = format!("stty cols 80 echo; {}; stty -a", acting());
    let mut session = spawn(shell("watch a second", &script));
    session.exp_string("WATCHED: Reached.").unwrap();
    let modes = session.exp_eof().unwrap();
    let words: Vec<&str> = modes.split_whitespace().collect();
    assert!(
        words.contains(&"echo") && words.contains(&"icanon"),
        "{modes}"
    );
}

#[test]
fn a_terminal_that_hangs_up_closes_the_question() {
    for plain in [false, true] {
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
        let mut command = shell("ask", &format!("exec {}", acting()));
        if plain {
            command.env("SKIMGATE_TEST_PLAIN", "1");
        }
        command
            .stdin(near.try_clone().unwrap())
            .stderr(near)
            .stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        drop(command);
        let mut far = File::from(far);
        let mut screen = Vec::new();
        while !String::from_utf8_lossy(&screen).contains("reading in mm> ") {
            let mut some = [0; 512];
            let n = far.read(&mut some).unwrap();
            screen.extend_from_slice(&some[..n]);
        }
        drop(far);
        let mut told = String::new();
        let mut out = child.stdout.take().unwrap();
        out.read_to_string(&mut told).unwrap();
        child.wait().unwrap();
        assert!(told.contains("REPLY: Closed."), "{told:?}");
    }
}
