//! A book of an older layout, kept as it was written (`tests/books`, invented runs): read as it is, brought up to date by the
//! first command that writes, and gone on with.

use crate::support::{PROGRAM, flowing, shipped};
use skimgate::book::Book;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn kept() -> (tempfile::TempDir, PathBuf) {
    stored("layout-1.sqlite3")
}

/// A copy of one of the books kept in `tests/books`, in a folder of its own.
fn stored(name: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite3");
    let from = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/books")
        .join(name);
    std::fs::write(&path, std::fs::read(from).unwrap()).unwrap();
    (folder, path)
}

fn skimgate(book: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_skimgate"))
        .env_clear()
        .env("SKIMGATE_BOOK", book)
        .current_dir(book.parent().unwrap())
        .args(args)
        .output()
        .unwrap()
}

#[test]
fn layout_1_is_read_as_it_is_and_left_alone() {
    let (_folder, path) = kept();
    let before = std::fs::read(&path).unwrap();
    for (args, part) in [
        (&["record", "verify"][..], "19 entries follow"),
        (&["record", "list"], "2026-11-25-2"),
        (&["record", "show", "2026-11-25-1"], "complete"),
    ] {
        let output = skimgate(&path, args);
        let told = String::from_utf8_lossy(&output.stdout);
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        assert!(told.contains(part), "{told}");
    }
    assert!(
        Book::open_existing(&path)
            .unwrap()
            .ledger("people")
            .unwrap()
            .is_empty()
    );
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn layout_1_is_brought_up_to_date_entry_for_entry() {
    let (_folder, path) = kept();
    let old = Book::open_existing(&path).unwrap();
    let (chain, runs) = (old.verify_chain().unwrap(), old.runs().unwrap());
    let entries: Vec<_> = runs.iter().map(|r| old.entries(&r.run).unwrap()).collect();
    drop(old);
    let mut book = Book::open(&path).unwrap();
    assert_eq!(book.verify_chain().unwrap(), chain);
    assert_eq!(book.runs().unwrap(), runs);
    for (run, entries) in runs.iter().zip(&entries) {
        assert_eq!(book.entries(&run.run).unwrap(), *entries);
    }
    let draft = skimgate::book::Draft {
        at: "2026-11-26T00:00:00.000Z".into(),
        kind: "note".into(),
        version: 1,
        body: "{}".into(),
    };
    let [added] = &book.append_to_ledger("stock", 0, &[draft]).unwrap()[..] else {
        panic!("one entry was to be written")
    };
    assert_eq!((added.seq, added.previous), (chain.entries + 1, chain.last));
    assert_eq!(book.verify_chain().unwrap().entries, chain.entries + 1);
}

#[test]
fn a_run_left_in_layout_1_is_walked_to_its_end() {
    let (folder, path) = kept();
    std::fs::write(folder.path().join("p.nc"), PROGRAM).unwrap();
    std::fs::write(
        folder.path().join("rest.yaml"),
        "operator: ab\nmachine: north\neyes: worn\nnc: p.nc\nbite: 0.1\nclear: ab\npass_cut: finished\nlook: clean\n\
         swept: swept\n",
    )
    .unwrap();
    let (procedure, shop) = (shipped("tiny.yaml"), shipped("shop.yaml"));
    let walked = skimgate(
        &path,
        &[
            "walk",
            procedure.to_str().unwrap(),
            "--shop",
            shop.to_str().unwrap(),
            "--answers",
            "rest.yaml",
        ],
    );
    assert_eq!(walked.status.code(), Some(0), "{walked:?}");
    let verified = skimgate(&path, &["record", "verify"]);
    assert_eq!(verified.status.code(), Some(0), "{verified:?}");
}

/// `events-4.sqlite3` holds one whole walk of the built-in procedure from an answers file, and one that the file left in
/// the middle of its first cut. Both were written by the first edition.
#[test]
fn a_book_of_event_version_4_still_verifies_and_shows_both_runs() {
    let (_folder, path) = stored("events-4.sqlite3");
    let before = std::fs::read(&path).unwrap();
    for (args, part) in [
        (&["record", "verify"][..], "346 entries"),
        (&["record", "list"], "over, file"),
        (&["record", "list"], "2026-11-28-2"),
        (&["record", "show", "2026-11-28-1"], "complete"),
        (
            &["record", "show", "2026-11-28-2"],
            "the answers file ended",
        ),
    ] {
        let output = skimgate(&path, args);
        let shown = String::from_utf8_lossy(&output.stdout);
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        assert!(shown.contains(part), "{args:?}: {shown}");
    }
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

/// `people-1.sqlite3` was written by the first edition at a terminal, with invented people: AB, an owner and operator, and CD, an
/// operator who may run nothing alone. It was made in one folder with `tests/procedures` (but the keys that edition did not
/// know) and this program as `p.nc`, each PIN typed where it was asked for:
///
/// ```text
/// skimgate people add ab --role owner,operator
/// skimgate people add cd --machines none
/// skimgate walk tiny.yaml --shop shop.yaml
///     cd, north, c12, worn, homed, p.nc, 0.1
///     cd and the code shown, then ab beside and the code shown
///     started, Enter, finished, clean, swept
/// ```
#[test]
fn a_book_with_people_of_the_first_edition_opens_verifies_and_shows_them() {
    let (_folder, path) = stored("people-1.sqlite3");
    let before = std::fs::read(&path).unwrap();
    let run = Book::open_existing(&path).unwrap().runs().unwrap()[0]
        .run
        .clone();
    for (args, parts) in [
        (&["record", "verify"][..], &["16 entries"][..]),
        (&["record", "verify", &run], &["16 entries"]),
        (&["record", "list"], &[&run, "north", "over"]),
        (
            &["record", "show", &run],
            &[
                "Outcome: complete",
                "signed by CD as operator, with their key; AB as owner with theirs",
            ],
        ),
        (
            &["people", "list"],
            &["AB operator, owner all", "CD operator none"],
        ),
        (
            &["people", "history"],
            &["AB is on the list.", "CD is on the list.", "Signed by AB."],
        ),
    ] {
        let output = skimgate(&path, args);
        let shown = flowing(&String::from_utf8_lossy(&output.stdout));
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        for part in parts {
            assert!(shown.contains(part), "{args:?}: {part}: {shown}");
        }
    }
    // Nothing is open in it, so the machine is held.
    assert_eq!(skimgate(&path, &["gate"]).status.code(), Some(3));
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

/// A run that was begun under version 1.0 of the default procedure, up to the program, ends under the text that it began with.
#[test]
fn a_run_begun_under_the_first_version_of_the_default_procedure_ends_under_it() {
    let (folder, path) = stored("base-plate-1.0.sqlite3");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let rest = std::fs::read(root.join("tests/books/base-plate-1.0.yaml")).unwrap();
    std::fs::write(folder.path().join("rest.yaml"), rest).unwrap();
    let program = root.join("checklists/answers/facing-12mm.nc");
    std::fs::copy(program, folder.path().join("facing-12mm.nc")).unwrap();
    let walked = skimgate(&path, &["walk", "--answers", "rest.yaml"]);
    let said = flowing(&String::from_utf8_lossy(&walked.stderr));
    assert_eq!(walked.status.code(), Some(0), "{said}");
    assert!(said.contains("The run is complete and recorded"), "{said}");
    let verified = skimgate(&path, &["record", "verify"]);
    assert_eq!(verified.status.code(), Some(0), "{verified:?}");
    let shown = skimgate(&path, &["record", "list"]);
    let shown = String::from_utf8_lossy(&shown.stdout);
    assert!(shown.contains("over, file"), "{shown}");
}
