//! Somebody at a terminal: types what a prompt asks for once it stands there, and keeps all that was shown.
//!
//! The terminal is rexpect's, its reader is not: that one looks for news ten times a second, and a walk has a hundred
//! prompts.

use crate::support::{Bench, flowing, shipped};
use rexpect::process::{PtyProcess, Signal};
use rustix::termios::{Termios, tcgetattr};
use std::fs::File;
use std::io::{Read, Write};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_secs(20);

/// How a terminal is set up and what is walked there.
pub struct Sitting<'a> {
    bench: &'a Bench,
    command: &'a str,
    procedure: PathBuf,
    shop: PathBuf,
    columns: u16,
    rows: u16,
    variables: Vec<(&'a str, &'a str)>,
    more: Vec<&'a str>,
}

impl<'a> Sitting<'a> {
    /// 80 columns, the small procedure.
    pub fn at(bench: &'a Bench) -> Self {
        Self {
            bench,
            command: "walk",
            procedure: shipped("small.yaml"),
            shop: shipped("shop.yaml"),
            columns: 80,
            rows: 24,
            variables: Vec::new(),
            more: Vec::new(),
        }
    }

    pub fn columns(mut self, columns: u16) -> Self {
        self.columns = columns;
        self
    }

    pub fn rows(mut self, rows: u16) -> Self {
        self.rows = rows;
        self
    }

    pub fn procedure(mut self, procedure: PathBuf) -> Self {
        self.procedure = procedure;
        self
    }

    pub fn shop(mut self, shop: PathBuf) -> Self {
        self.shop = shop;
        self
    }

    pub fn with(mut self, name: &'a str, value: &'a str) -> Self {
        self.variables.push((name, value));
        self
    }

    pub fn args(mut self, more: &[&'a str]) -> Self {
        self.more.extend(more);
        self
    }

    /// Another command that walks.
    pub fn command(mut self, command: &'a str) -> Self {
        self.command = command;
        self
    }

    /// The walk as words for a shell.
    pub fn words(&self) -> String {
        format!(
            "'{}' {} '{}' --shop '{}' --book '{}' {}",
            assert_cmd::cargo::cargo_bin!("skimgate").display(),
            self.command,
            self.procedure.display(),
            self.shop.display(),
            self.bench.book().display(),
            self.more.join(" ")
        )
    }

    /// Starts the walk.
    pub fn walks(self) -> Operator {
        let words = format!("exec {}", self.words());
        self.does(&words)
    }

    /// Another command, as words for a shell.
    pub fn other_command(&self, words: &str) -> String {
        format!(
            "'{}' {words} --book '{}'",
            assert_cmd::cargo::cargo_bin!("skimgate").display(),
            self.bench.book().display(),
        )
    }

    /// Starts what a shell is told. The echo is a terminal's own, so it is on.
    pub fn does(self, words: &str) -> Operator {
        let mut command = self.bench.command_of("sh");
        command.arg("-c").arg(format!(
            "stty cols {} rows {} echo; echo PROCESS $$.; {words}",
            self.columns, self.rows,
        ));
        command.envs(self.variables.iter().copied());
        let process = PtyProcess::new(command).unwrap();
        let keys = process.get_file_handle().unwrap();
        let shown = read_on(process.get_file_handle().unwrap());
        let mut operator = Operator {
            process,
            keys,
            shown,
            ahead: Vec::new(),
            number: String::new(),
            screen: String::new(),
        };
        operator.sees("PROCESS ");
        operator.number = operator.sees(".").replace('.', "");
        operator.sees("\n");
        operator.screen.clear();
        operator
    }
}

/// Reads a terminal as long as there is one; the channel ends with it.
fn read_on(mut terminal: File) -> Receiver<Vec<u8>> {
    let (send, receive) = channel();
    thread::spawn(move || {
        let mut some = [0; 4096];
        while let Ok(n @ 1..) = terminal.read(&mut some) {
            if send.send(some[..n].to_vec()).is_err() {
                break;
            }
        }
    });
    receive
}

pub struct Operator {
    process: PtyProcess,
    keys: File,
    shown: Receiver<Vec<u8>>,
    /// Shown, and not yet looked at.
    ahead: Vec<u8>,
    /// The number of the walk's process.
    pub number: String,
    /// Everything seen so far.
    pub screen: String,
}

impl Operator {
    /// Waits for a text; what was shown up to and with it.
    pub fn sees(&mut self, text: &str) -> String {
        let since = Instant::now();
        let wanted = text.as_bytes();
        loop {
            let found = self.ahead.windows(wanted.len()).position(|w| w == wanted);
            if let Some(at) = found {
                let seen: Vec<u8> = self.ahead.drain(..at + wanted.len()).collect();
                let seen = String::from_utf8(seen).unwrap();
                self.screen.push_str(&seen);
                return seen;
            }
            let left = PATIENCE.saturating_sub(since.elapsed());
            match self.shown.recv_timeout(left) {
                Ok(more) => self.ahead.extend(more),
                Err(error) => panic!(
                    "no `{text}` ({error}) after: {}{}",
                    self.screen,
                    String::from_utf8_lossy(&self.ahead)
                ),
            }
        }
    }

    /// Types keys as they are.
    pub fn presses(&mut self, keys: impl AsRef<[u8]>) {
        self.keys.write_all(keys.as_ref()).unwrap();
    }

    /// Waits for a prompt, types a line, and waits until it is taken in. What was shown before the prompt.
    pub fn answers(&mut self, prompt: &str, text: &str) -> String {
        let shown = self.sees(&format!("{prompt}> "));
        self.presses(format!("{text}\r"));
        self.sees("\n");
        shown
    }

    /// `answers` for several.
    pub fn goes(&mut self, answers: &[(&str, &str)]) {
        for (prompt, text) in answers {
            self.answers(prompt, text);
        }
    }

    /// Answers and checks that parts of what follows, up to the next prompt of that name, are shown, whatever the line
    /// breaks. The next prompt is left standing.
    pub fn is_told(&mut self, prompt: &str, text: &str, parts: &[&str], next: &str) {
        self.answers(prompt, text);
        self.is_shown(parts, next);
    }

    /// Waits for a prompt and checks what is shown before it. The prompt is left standing, to be answered with `types`.
    pub fn is_shown(&mut self, parts: &[&str], next: &str) {
        let shown = self.sees(&format!("{next}> "));
        let told = flowing(&plain(&shown));
        for part in parts {
            assert!(told.contains(part), "`{part}` not in: {shown}");
        }
    }

    /// Types a line at the prompt that stands.
    pub fn types(&mut self, text: &str) {
        self.presses(format!("{text}\r"));
        self.sees("\n");
    }

    /// From the first question to the touch-off.
    pub fn sets_up(&mut self) {
        self.goes(&[("initials", "ab"), ("machine", "north")]);
        self.prepares();
    }

    /// From the cutter to the touch-off.
    pub fn prepares(&mut self) {
        self.goes(&[
            ("choose", "c12"),
            ("choose", "bed-a"),
            ("confirm", "worn"),
            ("confirm", "homed"),
            ("value in rpm", "3000"),
            ("time in min", "2 s"),
            ("file", "face-12.nc"),
        ]);
    }

    /// From the first question to the first value that is typed; its prompt is left standing.
    pub fn reaches_the_speed(&mut self) {
        self.goes(&[
            ("initials", "ab"),
            ("machine", "north"),
            ("choose", "c12"),
            ("choose", "bed-a"),
            ("confirm", "worn"),
            ("confirm", "homed"),
        ]);
        self.sees("value in rpm> ");
    }

    /// The touches of the worked example.
    pub fn touches(&mut self) {
        self.goes(&[
            ("P1 in mm", "0"),
            ("P2 in mm", "-0.12"),
            ("shows now, mm", "0"),
            ("P3 in mm", "0.31"),
            ("P4 in mm", "0.08"),
            ("P5 in mm", "-0.05"),
            ("shows now, mm", "0"),
        ]);
    }

    /// The first roughing pass up to the hold point.
    pub fn plans(&mut self) {
        self.goes(&[
            ("value in mm", "0"),
            ("value in mm", "0"),
            ("shows now, mm", "-0.18"),
        ]);
    }

    /// From the first question to the first hold point.
    pub fn reaches_the_hold_point(&mut self) {
        self.sets_up();
        self.touches();
        self.plans();
    }

    /// Signs with the code on the screen.
    pub fn signs(&mut self) {
        self.signs_as("ab");
    }

    pub fn signs_as(&mut self, initials: &str) {
        self.answers("initials", initials);
        let code = self.reads_code();
        self.types(&code);
    }

    /// The code that the screen shows, with its prompt left standing.
    pub fn reads_code(&mut self) -> String {
        let shown = plain(&self.sees("code> "));
        let (_, after) = shown.split_once("type this code: ").unwrap();
        after.split_whitespace().next().unwrap().to_owned()
    }

    /// Presses cycle start and sees the cut through.
    pub fn cuts(&mut self, pass: &str) {
        self.starts(pass);
        self.presses("\r");
        self.answers("how it ended", "finished");
    }

    /// Presses cycle start and waits beside the machine, until keys go to that wait.
    pub fn starts(&mut self, pass: &str) {
        self.sees("RELEASED to ");
        self.answers("started", "started");
        self.sees("Cutting. Press Enter");
        self.sees(pass);
    }

    /// Waits for the end: all that was shown since, and the status.
    pub fn leaves(&mut self) -> i32 {
        loop {
            match self.shown.recv_timeout(PATIENCE) {
                Ok(more) => self.ahead.extend(more),
                Err(RecvTimeoutError::Disconnected) => break,
                // Waiting for its end would be waiting for ever.
                Err(RecvTimeoutError::Timeout) => panic!(
                    "it goes on after: {}{}",
                    self.screen,
                    String::from_utf8_lossy(&self.ahead)
                ),
            }
        }
        let rest = String::from_utf8(std::mem::take(&mut self.ahead)).unwrap();
        self.screen.push_str(&rest);
        // The type of the status has no public name; what it shows is `Exited(Pid(7), 130)`.
        let status = format!("{:?}", self.process.wait().unwrap());
        let code = status
            .strip_prefix("Exited(")
            .and_then(|rest| rest.trim_end_matches(')').rsplit(' ').next()?.parse().ok());
        code.unwrap_or_else(|| panic!("{status} after: {}", self.screen))
    }

    /// Checks how the walk ends.
    pub fn ends(&mut self, code: i32) {
        assert_eq!(self.leaves(), code, "{}", self.screen);
    }

    /// Ends the process as a power cut would, and waits until it is gone.
    pub fn is_cut_off(&mut self) {
        self.process.kill(Signal::SIGKILL).unwrap();
    }

    /// Sends the walk a signal.
    pub fn is_sent(&mut self, signal: Signal) {
        self.process.signal(signal).unwrap();
    }

    /// How the terminal is set.
    pub fn modes(&self) -> Termios {
        tcgetattr(&self.keys).unwrap()
    }

    /// Checks what the whole screen told, whatever the line breaks.
    pub fn has_seen(&self, parts: &[&str]) {
        let told = flowing(&plain(&self.screen));
        for part in parts {
            assert!(told.contains(part), "`{part}` not in: {}", self.screen);
        }
    }

    /// Whether the cursor was left visible.
    pub fn cursor_is_shown(&self) -> bool {
        match (
            self.screen.rfind("\x1b[?25l"),
            self.screen.rfind("\x1b[?25h"),
        ) {
            (Some(hidden), Some(shown)) => hidden < shown,
            (Some(_), None) => false,
            (None, _) => true,
        }
    }
}

/// Text without escape sequences.
pub fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        if c == '\x1b' {
            // CSI: up to the letter that ends it.
            let _ = chars.by_ref().find(char::is_ascii_alphabetic);
        } else {
            out.push(c);
        }
    }
    out
}

/// The widest line that a screen was sent, in columns; what a carriage return overwrote counts by itself.
pub fn widest(screen: &str) -> usize {
    plain(screen)
        .split(['\n', '\r'])
        .map(skimgate::terminal::screen::width)
        .max()
        .unwrap()
}
