//! Files that a person names: pipes, devices and huge files are refused at once; written files replace nothing unasked; key
//! files are private.

use crate::support::{Bench, Ran, ran};
use rustix::fs::{CWD, FileType, Mode, mknodat};
use std::fs::{Permissions, metadata, set_permissions};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::Command;

/// Runs a command with at most 10 s of time and 400 MB of memory; either limit ends it with another status than its own.
fn bounded(bench: &Bench, args: &[&str]) -> Ran {
    let mut command: Command = bench.command_of("sh");
    command
        .args(["-c", "ulimit -v 400000; exec timeout 10 \"$@\"", "sh"])
        .arg(assert_cmd::cargo::cargo_bin!("skimgate"))
        .args(args)
        .arg("--book")
        .arg(bench.book());
    ran(command)
}

fn fifo(bench: &Bench) {
    let path = bench.path("pipe");
    mknodat(CWD, &path, FileType::Fifo, Mode::RUSR | Mode::WUSR, 0).unwrap();
}

#[test]
fn a_pipe_a_device_and_a_huge_file_are_refused_wherever_a_file_is_read() {
    let bench = Bench::new();
    fifo(&bench);
    std::fs::File::create(bench.path("huge"))
        .unwrap()
        .set_len(2 << 30)
        .unwrap();
    for (file, why) in [
        ("pipe", "not a regular file"),
        ("/dev/zero", "not a regular file"),
        ("huge", "larger than"),
    ] {
        for args in [
            &["walk", file, "--answers", file] as &[&str],
            &["walk", "--answers", file],
            &["walk", "--shop", file, "--answers", "/dev/null"],
            &["rehearse", "--scenario", file],
            &["program", file],
            &["program", "face-12.nc", "--plate", "p", "--shop", file],
            &["plane", file, "--max-bite", "0.25mm"],
        ] {
            let ran = bounded(&bench, args);
            assert_eq!(ran.code, Some(2), "{args:?}: {ran:?}");
            let said = ran.err.contains(why) || args.contains(&"/dev/null");
            assert!(said, "{args:?}: {ran:?}");
        }
        let checked = bounded(&bench, &["check", file]).ended(2);
        assert!(
            checked.out.contains("not a regular file") || checked.out.contains("larger than 4 MiB"),
            "{checked:?}"
        );
    }
    let mut zeros = bench.command();
    zeros.args(["check", "-"]);
    zeros.stdin(std::fs::File::open("/dev/zero").unwrap());
    let output = zeros.output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stdout).contains("larger than 4 MiB"));
}

#[test]
fn a_run_whose_program_became_a_pipe_is_shown_and_exported() {
    let bench = Bench::new();
    let answers = bench.answers("all.yaml", crate::support::whole(&[]));
    bench.walk(&answers).ended(0);
    std::fs::remove_file(bench.path("face-12.nc")).unwrap();
    fifo(&bench);
    std::fs::rename(bench.path("pipe"), bench.path("face-12.nc")).unwrap();
    let run = bench.only_run();
    bounded(&bench, &["record", "export", &run, "--as", "html"])
        .ended(0)
        .tells(&["cannot be read any more"]);
}

#[test]
fn a_pipe_in_place_of_the_book_holds_at_once() {
    let bench = Bench::new();
    fifo(&bench);
    std::fs::rename(bench.path("pipe"), bench.book()).unwrap();
    bounded(&bench, &["gate"])
        .ended(3)
        .says(&["not a regular file"]);
}

/// As a power cut leaves it between making the file and filling it.
#[test]
fn a_book_cut_off_at_its_making_is_no_book_yet_and_holds() {
    let bench = Bench::new();
    bench.write("book.sqlite3", "");
    let json = bench.run(&["gate", "--json"]).ended(3).quietly().json();
    assert_eq!(json["released"], false);
    let answers = bench.answers("all.yaml", crate::support::whole(&[]));
    bench.walk(&answers).ended(0);
}

/// The same in the middle of its first transaction: SQLite has written pages, and how to take them back.
#[test]
fn a_book_cut_off_in_its_first_transaction_is_no_book_yet_and_holds() {
    for ask in [&["gate", "--json"] as &[&str], &["gate"], &[]] {
        let bench = Bench::new();
        let other = rusqlite::Connection::open(bench.path("other.sqlite3")).unwrap();
        other
            .execute_batch(
                "PRAGMA cache_size = 1; BEGIN; CREATE TABLE entries (body); INSERT INTO entries VALUES (zeroblob(200000));",
            )
            .unwrap();
        for end in ["", "-journal"] {
            let from = bench.path(&format!("other.sqlite3{end}"));
            assert!(metadata(&from).unwrap().len() > 0, "{end}");
            std::fs::copy(from, bench.path(&format!("book.sqlite3{end}"))).unwrap();
        }
        drop(other);
        let held = if ask.is_empty() { 0 } else { 3 };
        bench.run(ask).ended(held).quietly();
        assert!(!bench.path("book.sqlite3-journal").exists());
        let answers = bench.answers("all.yaml", crate::support::whole(&[]));
        bench.walk(&answers).ended(0);
    }
}

#[test]
fn gate_holds_after_a_bounded_wait_while_another_program_locks_the_claim_or_the_book() {
    let bench = Bench::new();
    let answers = bench.answers("some.yaml", crate::support::until("corners", &[]));
    bench.walk(&answers);
    let doors: Vec<_> = std::fs::read_dir(bench.path("book.sqlite3.claims"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "door"))
        .collect();
    assert_eq!(doors.len(), 1, "{doors:?}");
    let door = std::fs::File::open(&doors[0]).unwrap();
    door.lock().unwrap();
    let gate = |bench: &Bench| {
        let mut command = bench.command_of("timeout");
        command
            .arg("60")
            .arg(assert_cmd::cargo::cargo_bin!("skimgate"));
        command.arg("gate").arg("--book").arg(bench.book());
        ran(command)
    };
    gate(&bench).ended(3).says(&["another program"]);
    drop(door);
    let lock = rusqlite::Connection::open(bench.book()).unwrap();
    lock.execute_batch("BEGIN EXCLUSIVE").unwrap();
    gate(&bench).ended(3).says(&["locked by another program"]);
    drop(lock);
    gate(&bench).ended(3).tells(&["HELD"]);
}

#[test]
fn a_written_file_replaces_nothing_and_follows_no_link_unless_forced() {
    let bench = Bench::new();
    let mine = bench.write("mine.svg", "mine");
    symlink(&mine, bench.path("link.svg")).unwrap();
    symlink(bench.path("nowhere"), bench.path("dangling.svg")).unwrap();
    bench.run(&["init"]).ended(0);
    let program = [
        "program",
        "checklists/answers/facing-12mm.nc",
        "--plate",
        "plate-1",
        "--corner",
        "30,30",
        "--svg",
    ];
    let answers = bench.answers("all.yaml", crate::support::whole(&[]));
    bench.walk(&answers).ended(0);
    let run = bench.only_run();
    let export = ["record", "export", &run, "--as", "csv", "-o"];
    for command in [&program as &[&str], &export] {
        for name in ["mine.svg", "link.svg", "dangling.svg"] {
            let args = [command, &[name]].concat();
            bench
                .run(&args)
                .ended(1)
                .says(&["exists already", "--force"]);
        }
        assert_eq!(std::fs::read_to_string(&mine).unwrap(), "mine");
        assert!(!bench.path("nowhere").exists());
    }
    let forced = bench.run(&[&export as &[&str], &["link.svg", "--force"]].concat());
    forced.ended(0);
    assert_eq!(std::fs::read_to_string(&mine).unwrap(), "mine");
    assert!(!bench.path("link.svg").is_symlink());
    let mode = metadata(bench.path("link.svg"))
        .unwrap()
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o600);
    let forced = bench.run(&[&program as &[&str], &["mine.svg", "--force"]].concat());
    assert!(matches!(forced.code, Some(0 | 3)), "{forced:?}");
    assert!(std::fs::read_to_string(&mine).unwrap().contains("<svg"));
}

#[test]
fn the_book_and_its_claims_are_made_private_again() {
    let bench = Bench::new();
    let answers = bench.answers("all.yaml", crate::support::whole(&[]));
    bench.walk(&answers).ended(0);
    let claims = bench.path("book.sqlite3.claims");
    set_permissions(bench.book(), Permissions::from_mode(0o666)).unwrap();
    set_permissions(&claims, Permissions::from_mode(0o777)).unwrap();
    // What earlier versions, or somebody's backup, left looser.
    for file in ["turn", "seen"] {
        std::fs::write(claims.join(format!("machine-north.{file}")), "0").unwrap();
    }
    let files: Vec<_> = std::fs::read_dir(&claims)
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    for file in &files {
        set_permissions(file, Permissions::from_mode(0o666)).unwrap();
    }
    bench.walk(&answers).ended(0);
    let mode = |path: &Path| metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&bench.book()), 0o600);
    assert_eq!(mode(&claims), 0o700);
    assert!(files.len() >= 5, "{files:?}");
    for file in &files {
        assert_eq!(mode(file), 0o600, "{}", file.display());
    }
}

#[test]
fn the_practice_book_and_what_lies_beside_it_are_made_private_again() {
    let bench = Bench::new();
    let rehearses = || {
        let demo = ["rehearse", "--demo", "--at-once", "--seed", "1"];
        let ran = bench.run(&demo);
        assert!(bench.path("book.practice.sqlite3").exists(), "{ran:?}");
    };
    rehearses();
    let (folder, book) = (
        bench.path("book.practice"),
        bench.path("book.practice.sqlite3"),
    );
    let claims = bench.path("book.practice.sqlite3.claims");
    let mut all = vec![folder.clone(), claims.clone()];
    for within in [&folder, &claims] {
        all.extend(
            std::fs::read_dir(within)
                .unwrap()
                .map(|f| f.unwrap().path()),
        );
    }
    assert!(all.len() > 4, "{all:?}");
    all.push(book);
    let mode = |path: &Path| metadata(path).unwrap().permissions().mode() & 0o777;
    for path in &all {
        let tight = if path.is_dir() { 0o700 } else { 0o600 };
        assert_eq!(mode(path), tight, "{}", path.display());
        set_permissions(path, Permissions::from_mode(tight | 0o055)).unwrap();
    }
    rehearses();
    for path in &all {
        assert_eq!(mode(path) & 0o077, 0, "{}", path.display());
    }
}
