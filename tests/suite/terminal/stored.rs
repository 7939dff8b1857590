//! A book that cannot be written for a while: another program has it locked, or its disk is full. The walk says so and asks
//! again, and nothing typed is lost. Invented figures and people.

use super::people::{LEARNER, OWNER, register};
use super::takes_up_homed;
use crate::operator::{Operator, Sitting};
use crate::support::{Bench, told};
use rusqlite::Connection;
use skimgate::book::Book;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

const AGAIN: &str = "again or leave";
const LOCKED: &str = "is locked by another program";

/// Another program that has the book, until it is dropped.
fn lock(book: &Path, how: &str) -> Connection {
    let other = Connection::open(book).unwrap();
    other.busy_timeout(Duration::from_secs(10)).unwrap();
    other.execute_batch(how).unwrap();
    other
}

const WRITER: &str = "BEGIN IMMEDIATE";
const READER: &str = "BEGIN; SELECT count(*) FROM entries";
const ALONE: &str = "BEGIN EXCLUSIVE";

#[test]
fn an_answer_waits_for_whoever_has_the_book_and_is_not_asked_again() {
    for how in [WRITER, READER, ALONE] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        at.sees("choose> ");
        let other = lock(&bench.book(), how);
        at.types("c12");
        at.is_shown(&["Not stored yet", LOCKED], AGAIN);
        assert!(!at.screen.contains("Recorded: c12"), "{}", at.screen);
        at.types("c13");
        at.is_shown(&["Nothing else can be stored before this"], AGAIN);
        drop(other);
        at.types("again");
        at.is_shown(&["Which plate"], "choose");
        at.types("leave");
        at.ends(130);
        let shown = bench.shown();
        assert_eq!(told(&shown, "answered").len(), 1, "{how}: {shown}");
        assert!(told(&shown, "refused").is_empty(), "{how}: {shown}");
        bench.run(&["record", "verify"]).ended(0);
    }
}

#[test]
fn leaving_instead_ends_with_1_and_the_run_goes_on_from_what_was_stored() {
    for keys in ["leave\r", "\x03"] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        at.sees("choose> ");
        let other = lock(&bench.book(), WRITER);
        at.types("note the vice is loose");
        at.is_shown(&["Not stored yet", LOCKED], AGAIN);
        at.presses(keys);
        at.ends(1);
        assert!(!at.screen.contains("Noted."), "{}", at.screen);
        drop(other);
        let (mut at, shown) = super::takes_up(&bench);
        assert!(shown.contains("broken off without a word"), "{shown}");
        at.is_shown(&["Which cutter"], "choose");
        assert!(told(&bench.shown(), "noted").is_empty());
    }
}

#[test]
fn a_run_is_begun_and_one_that_is_refused_is_recorded_once_the_book_is_free() {
    let bench = Bench::new();
    drop(Book::open(bench.book()).unwrap());
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "ab");
    at.sees("machine> ");
    let other = lock(&bench.book(), WRITER);
    at.types("north");
    at.is_shown(&["Not stored yet", LOCKED], AGAIN);
    drop(other);
    at.types("");
    at.sees("choose> ");
    let other = lock(&bench.book(), WRITER);
    at.types("nonsense");
    at.is_shown(&["Not stored yet", LOCKED], AGAIN);
    assert!(!at.screen.contains("Not taken"), "{}", at.screen);
    drop(other);
    at.types("again");
    at.is_shown(&["Not taken"], "choose");
    assert_eq!(told(&bench.shown(), "refused").len(), 1);
}

/// A release is on record, and what ends it cannot be stored: nothing is released meanwhile, wherever it is asked.
#[test]
fn a_stop_that_cannot_be_stored_holds_cycle_start_and_says_what_to_do_at_the_machine() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    bench.run(&["gate"]).ended(0);
    let other = lock(&bench.book(), WRITER);
    at.types("stop a clamp is loose");
    at.is_shown(
        &["Stop the machine at the machine", "Not stored yet", LOCKED],
        AGAIN,
    );
    bench
        .run(&["gate"])
        .ended(3)
        .tells(&["could not store what came after it"]);
    bench.run(&[]).ended(0).tells(&["cycle start is held"]);
    drop(other);
    bench.run(&["gate"]).ended(3);
    at.types("again");
    at.is_shown(&["Stop the machine at the machine"], "why stopped");
    at.types("planned");
    at.ends(3);
    let stops = told(&bench.shown(), "stopped");
    assert!(stops[0].contains("a clamp is loose"), "{stops:?}");
}

/// What is stored after a while is decided then: the program file is another by now.
#[test]
fn a_start_that_could_not_be_stored_is_decided_anew() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    let other = lock(&bench.book(), WRITER);
    at.types("started");
    at.is_shown(
        &["If the machine is running, stop it", "Not stored yet"],
        AGAIN,
    );
    bench.write("face-12.nc", "G21\nM30\n");
    drop(other);
    at.types("again");
    at.is_shown(&["If the machine is running, stop it"], "file");
    assert!(told(&bench.shown(), "cut_started").is_empty());

    // With nothing changed the same release is still good, here and for everybody else.
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    let other = lock(&bench.book(), WRITER);
    at.types("nonsense");
    at.is_shown(&["Not stored yet"], AGAIN);
    bench.run(&["gate"]).ended(3);
    drop(other);
    at.types("again");
    at.is_shown(&["Not taken", "RELEASED"], "started");
    bench.run(&["gate"]).ended(0);
    at.types("started");
    at.sees("Cutting. Press Enter");
}

/// A PIN is typed once; the try is on record before anybody learns what it came to.
#[test]
fn a_pin_is_tried_once_the_book_is_free() {
    let bench = Bench::new();
    register(&bench);
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "cd");
    for (pin, next) in [
        ("wrong words", "PIN of CD (not shown)"),
        (LEARNER, "machine"),
    ] {
        at.sees("PIN of CD (not shown)> ");
        let other = lock(&bench.book(), WRITER);
        at.types(pin);
        at.is_shown(&["Not stored yet", LOCKED], AGAIN);
        assert_eq!(wrong_pins(&bench), usize::from(next == "machine"));
        drop(other);
        at.types("again");
        if next != "machine" {
            at.sees("wrong PIN or pass phrase; that is recorded");
            assert_eq!(wrong_pins(&bench), 1);
        }
    }
    at.answers("machine", "north");
    at.sees("choose> ");
    // Handed over, and taken over by an owner.
    at.types("handover ab");
    at.sees("PIN of AB (not shown)> ");
    // A right PIN stores nothing, so that the reader is in the way only of what follows.
    let other = lock(&bench.book(), READER);
    at.types(OWNER);
    at.is_shown(&["Not stored yet", LOCKED], AGAIN);
    assert!(!at.screen.contains("Handed over"), "{}", at.screen);
    drop(other);
    at.types("again");
    at.is_shown(&["Handed over from CD to AB."], "choose");
    let mut owner = Sitting::at(&bench).args(&["--take-over"]).walks();
    owner.answers("initials", "ab");
    owner.sees("PIN of AB (not shown)> ");
    let other = lock(&bench.book(), READER);
    owner.types(OWNER);
    owner.is_shown(&["Not stored yet", LOCKED], AGAIN);
    drop(other);
    owner.types("again");
    owner.is_shown(&["taken over by AB"], "choose");
    assert!(!at.screen.contains(OWNER) && !owner.screen.contains(OWNER));
    bench.run(&["record", "verify"]).ended(0);
}

fn wrong_pins(bench: &Bench) -> usize {
    let book = Book::open_existing(bench.book()).unwrap();
    let entries = book.ledger("people").unwrap();
    entries.iter().filter(|e| e.kind == "wrong_pin").count()
}

#[test]
fn a_rehearsal_waits_too() {
    let bench = Bench::new();
    let sitting = Sitting::at(&bench).command("rehearse");
    let mut at = sitting.walks();
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.sees("choose> ");
    let other = lock(&bench.path("book.practice.sqlite3"), WRITER);
    at.types("c12");
    at.is_shown(&["Not stored yet", LOCKED], AGAIN);
    drop(other);
    at.types("again");
    at.is_shown(&["Which plate"], "choose");
}

/// A small disk for the book that only the walk sees, since it is mounted for its processes alone; what a file `order` says
/// is done there. `None` where nothing can be mounted.
struct SmallDisk<'a> {
    bench: &'a Bench,
}

impl<'a> SmallDisk<'a> {
    fn walks(bench: &'a Bench) -> Option<(Operator, Self)> {
        let mounts = Command::new("unshare")
            .args(["-rm", "true"])
            .stdin(Stdio::null())
            .output();
        if !mounts.is_ok_and(|output| output.status.success()) {
            println!("skipped: a small disk cannot be mounted here");
            return None;
        }
        fs::create_dir(bench.path("disk")).unwrap();
        let sitting = Sitting::at(bench);
        let walk = sitting.words().replace("book.sqlite3", "disk/book.sqlite3");
        bench.write(
            "inside.sh",
            &format!(
                "mount -t tmpfs -o size=1m tmpfs disk || exit 77\n\
                 while sleep 0.05; do if [ -e order ]; then mv order doing; sh doing > told 2>&1; mv told done; fi; done < /dev/null &\n\
                 {walk}\n\
                 ended=$?; kill $!; cp disk/book.sqlite3 book.sqlite3; exit $ended\n"
            ),
        );
        Some((
            sitting.does("exec unshare -rm sh inside.sh"),
            Self { bench },
        ))
    }

    fn order(&self, words: &str) -> String {
        let done = self.bench.path("done");
        self.bench.write("order-new", words);
        fs::rename(self.bench.path("order-new"), self.bench.path("order")).unwrap();
        let since = Instant::now();
        while !done.exists() {
            assert!(since.elapsed() < Duration::from_secs(20), "{words}");
            thread::sleep(Duration::from_millis(20));
        }
        let told = fs::read_to_string(&done).unwrap();
        fs::remove_file(done).unwrap();
        told
    }

    fn fill(&self) {
        self.order("cat /dev/zero > disk/filler");
    }

    fn empty(&self) {
        self.order("rm disk/filler");
    }

    /// The status of `gate`, and what it says.
    fn gate(&self) -> String {
        let gate = Sitting::at(self.bench).other_command("gate");
        let gate = gate.replace("book.sqlite3", "disk/book.sqlite3");
        self.order(&format!("{gate}; echo STATUS $?"))
    }
}

#[test]
fn a_full_disk_at_a_sign_off_at_a_start_and_at_a_stop_is_waited_for() {
    let bench = Bench::new();
    let Some((mut at, disk)) = SmallDisk::walks(&bench) else {
        return;
    };
    at.reaches_the_hold_point();
    at.answers("initials", "ab");
    let code = at.reads_code();
    disk.fill();
    at.types(&code);
    at.is_shown(&["Not stored yet", "is full"], AGAIN);
    assert!(!at.screen.contains("Signed by"), "{}", at.screen);
    at.types("again");
    at.is_shown(&["Not stored yet", "is full"], AGAIN);
    disk.empty();
    at.types("again");
    at.is_shown(&["Signed by AB", "RELEASED"], "started");
    let told_so = disk.gate();
    assert!(told_so.contains("STATUS 0"), "{told_so}");
    disk.fill();
    at.types("started");
    at.is_shown(&["If the machine is running, stop it", "is full"], AGAIN);
    assert!(!at.screen.contains("Cutting."), "{}", at.screen);
    disk.empty();
    let told_so = disk.gate();
    assert!(
        told_so.contains("STATUS 3") && told_so.contains("could not store"),
        "{told_so}"
    );
    at.types("again");
    at.sees("Cutting. Press Enter");
    at.sees("roughing pass 1");
    disk.fill();
    at.presses("stop it chatters\r");
    at.is_shown(&["Stop the machine at the machine", "is full"], AGAIN);
    disk.empty();
    at.types("again");
    at.sees("why stopped> ");
    at.types("planned");
    at.sees("initials> ");
    at.types("leave");
    at.ends(130);
    bench.run(&["record", "verify"]).ended(0);
    let shown = bench.shown();
    let ends = told(&shown, "cut_ended");
    assert!(ends[0].contains("it chatters"), "{ends:?}");
    assert_eq!(told(&shown, "cut_started").len(), 1);
    drop(takes_up_homed(&bench));
}
