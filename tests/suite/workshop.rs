//! A folder with a book, the small procedure and an answers file for a whole run of it, for tests that break things.

use crate::support::PROGRAM;
use skimgate::book::{Book, Entry};
use skimgate::interlock::Event;
use skimgate::walk::store::log;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
#[cfg(unix)]
use std::{
    io::{PipeReader, Read, Write},
    process::Child,
    time::Duration,
};
use tempfile::TempDir;

/// Invented answers for one whole run of tests/procedures/small.yaml: three roughing passes and a finishing one, with an
/// answer there to be refused and one outside what is expected.
const ANSWERS: &str = "\
operator: ab
machine: north
cutter: c12
plate: bed-a
eyes: worn
home: homed
speed: {value: 150 rpm, accept: the spindle is new}
warm: 2 s
nc: face-12.nc
corners: {P1: 0, P2: -0.12, P3: 0.31, P4: 0.08, P5: -0.05}
low_places: [none, touch]
lows: [{L1: -0.07}]
clearance: [0 mm, 0, {try: -0.05}, 0.05 mm]
standing: [0, 0, -0.07]
entry: [-0.18, {try: -0.18}, 0.18, 0.05]
clear: [ab, ab, ab]
pass_cut: [finished, finished, finished]
look: [skin left, skin left, clean]
skim: 0.08
finish_standing: 0
finish_entry: 0.08
clear_finish: ab
finish_cut: finished
remarks: none
";

pub struct Workshop {
    folder: TempDir,
}

impl Workshop {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let shop = Self { folder };
        std::fs::write(shop.at("face-12.nc"), PROGRAM).unwrap();
        std::fs::write(shop.at("answers.yaml"), ANSWERS).unwrap();
        shop
    }

    /// A walk that stands still and alive after its first questions: its words go into a pipe that is almost full, and
    /// nobody reads them until they are let out.
    #[cfg(unix)]
    pub fn stands(&self) -> Standing {
        let (words, mut full) = std::io::pipe().unwrap();
        // A pipe holds 64 KiB; what is left takes the opening and some questions, not the whole walk.
        full.write_all(&vec![b' '; 60 * 1024]).unwrap();
        let child = self.walk().stderr(full).spawn().unwrap();
        Standing { child, words }
    }

    pub fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn book(&self) -> PathBuf {
        self.at("book").join("book.sqlite3")
    }

    pub fn skimgate(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_skimgate"));
        command
            .env_clear()
            .env("SKIMGATE_BOOK", self.book())
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .args(args);
        command
    }

    pub fn walk(&self) -> Command {
        let shipped =
            |name: &str| format!("{}/tests/procedures/{name}", env!("CARGO_MANIFEST_DIR"));
        let (procedure, shop) = (shipped("small.yaml"), shipped("shop.yaml"));
        self.skimgate(&[
            "walk",
            &procedure,
            "--shop",
            &shop,
            "--answers",
            "answers.yaml",
        ])
    }

    /// Walks to the end.
    pub fn walked(&self) {
        let done = self.walk().output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{}", said(&done));
    }
}

/// Standard error on one line.
pub fn said(output: &Output) -> String {
    let text = String::from_utf8_lossy(&output.stderr);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Checks how a command ended and what it said.
pub fn ended(mut command: Command, code: i32, parts: &[&str]) -> Output {
    let output = command.output().unwrap();
    let told = said(&output);
    assert_eq!(output.status.code(), Some(code), "{told}");
    for part in parts {
        assert!(told.contains(part), "`{part}` is not in: {told}");
    }
    output
}

/// Everything in the book, run by run.
pub fn entries(book: &Book) -> Vec<Entry> {
    let runs = book.runs().unwrap();
    let runs = runs.iter().map(|run| book.entries(&run.run).unwrap());
    runs.flatten().collect()
}

pub fn events(entries: &[Entry]) -> Vec<Event> {
    let events = entries.iter().map(|entry| log::event(entry).unwrap().event);
    events.collect()
}

/// Checks that the book at `path` is whole, its latest run replays, and gives what is in it.
pub fn whole(path: &Path) -> Vec<Entry> {
    let book = Book::open_existing(path).unwrap();
    book.verify_chain().unwrap();
    if let Some(run) = book.runs().unwrap().last() {
        skimgate::walk::store::replay::replay(&book, &run.run).unwrap();
    }
    entries(&book)
}

/// Numbers that repeat: xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift generators", 2016).
pub struct Seeded(pub u64);

impl Seeded {
    pub fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let high = self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 32;
        usize::try_from(high).unwrap() % end
    }
}

/// A walk that stands still.
#[cfg(unix)]
pub struct Standing {
    pub child: Child,
    words: PipeReader,
}

#[cfg(unix)]
impl Standing {
    /// Lets the words out until the walk has ended: its status and all it said, blanks folded.
    pub fn goes_on(mut self) -> (Option<i32>, String) {
        let mut said = String::new();
        self.words.read_to_string(&mut said).unwrap();
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        (self.child.wait().unwrap().code(), said)
    }

    /// Ends it as a power cut would.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

/// The entries of a book once nobody has added to them for a while.
#[cfg(unix)]
pub fn settled(path: &Path) -> Vec<Entry> {
    let mut last = 0;
    loop {
        std::thread::sleep(Duration::from_millis(150));
        let now = if path.exists() {
            whole(path)
        } else {
            Vec::new()
        };
        if !now.is_empty() && now.len() == last {
            return now;
        }
        last = now.len();
    }
}
