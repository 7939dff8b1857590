//! Tests of appending: races, refusals, a full disk.

use crate::book::testing::{draft, new_path};
use crate::book::{Book, BookError, Entry};
use crate::fingerprint::Fingerprint;

/// A decision that depends on other runs is refused after any of them got a new entry.
#[test]
fn nothing_is_appended_to_a_book_that_another_terminal_wrote_to() {
    let (_folder, path) = new_path();
    let mut book = Book::open(&path).unwrap();
    book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
    let seen = book.last_digest().unwrap();
    let mut other = Book::open(&path).unwrap();
    other.begin("r2", "lathe", &[], &[draft("1")]).unwrap();
    let result = book.append_to_last("r1", 1, &[draft("2")], false, seen);
    assert!(matches!(result, Err(BookError::WentOn)), "{result:?}");
    let seen = book.last_digest().unwrap();
    let written = book.append_to_last("r1", 1, &[draft("2")], false, seen);
    assert_eq!(written.unwrap().len(), 1);
}

#[test]
fn written_entries_are_there_after_opening_again() {
    let (_folder, path) = new_path();
    let mut book = Book::open(&path).unwrap();
    let text = (Fingerprint::of("text"), "text");
    let mut written = book
        .begin("r1", "mill", &[text], &[draft("1"), draft("2")])
        .unwrap();
    written.extend(book.append("r1", 2, &[draft("größe\0")], false).unwrap());
    drop(book);

    let mut book = Book::open(&path).unwrap();
    assert_eq!(book.append("r1", 3, &[], false).unwrap(), []);
    written.extend(book.append("r1", 3, &[draft("4")], true).unwrap());
    let read = Book::open_existing(&path).unwrap().entries("r1").unwrap();
    assert_eq!(read, written);

    let content_of = |entry: &Entry| {
        (
            entry.seq,
            entry.n,
            entry.body.clone(),
            entry.opens.clone(),
            entry.ends,
        )
    };
    assert_eq!(
        read.iter().map(content_of).collect::<Vec<_>>(),
        [
            (1, 1, "1".into(), Some("mill".into()), false),
            (2, 2, "2".into(), None, false),
            (3, 3, "größe\0".into(), None, false),
            (4, 4, "4".into(), None, true),
        ]
    );
    assert_eq!(read[0].previous, Fingerprint::NONE);
    assert!(
        read.windows(2)
            .all(|pair| pair[1].previous == pair[0].digest)
    );
    assert_eq!(book.last_digest().unwrap(), read[3].digest);
}

#[test]
fn a_machine_has_one_open_run() {
    let (_folder, path) = new_path();
    let mut book = Book::open(&path).unwrap();
    book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
    let error = Book::open(&path)
        .unwrap()
        .begin("r2", "mill", &[], &[draft("1")])
        .unwrap_err();
    let BookError::MachineBusy { machine, run } = error else {
        panic!("{error}")
    };
    assert_eq!((machine.as_str(), run.as_str()), ("mill", "r1"));
    book.begin("r2", "router", &[], &[draft("1")]).unwrap();
    book.append("r1", 1, &[draft("2")], true).unwrap();
    book.begin("r3", "mill", &[], &[draft("1")]).unwrap();
}

#[test]
fn refusals_write_nothing() {
    let (_folder, path) = new_path();
    let mut book = Book::open(&path).unwrap();
    book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
    book.append("r1", 1, &[draft("2")], true).unwrap();
    book.begin("r2", "mill", &[], &[draft("1")]).unwrap();
    let before = book.verify_chain().unwrap();
    let one = [draft("1")];
    let text = (Fingerprint::of("other"), "text");

    let error = book.append("r2", 0, &one, false).unwrap_err();
    assert!(
        matches!(
            error,
            BookError::Overtaken {
                seen: 0,
                found: 1,
                ..
            }
        ),
        "{error}"
    );
    let error = book.append("r2", 2, &[], false).unwrap_err();
    assert!(
        matches!(
            error,
            BookError::Overtaken {
                seen: 2,
                found: 1,
                ..
            }
        ),
        "{error}"
    );
    let error = book.append("r1", 2, &one, false).unwrap_err();
    assert!(matches!(error, BookError::RunEnded { .. }), "{error}");
    let error = book.append("r9", 0, &one, false).unwrap_err();
    assert!(matches!(error, BookError::NoSuchRun { .. }), "{error}");
    let error = book.append("r2", 1, &[], true).unwrap_err();
    assert!(matches!(error, BookError::NothingToWrite { .. }), "{error}");
    let error = book.begin("r3", "router", &[], &[]).unwrap_err();
    assert!(matches!(error, BookError::NothingToWrite { .. }), "{error}");
    let error = book.begin("r1", "router", &[], &one).unwrap_err();
    assert!(matches!(error, BookError::RunExists { .. }), "{error}");
    let error = book.begin("r3", "router", &[text], &one).unwrap_err();
    assert!(
        matches!(error, BookError::WrongFingerprint { .. }),
        "{error}"
    );

    assert_eq!(book.verify_chain().unwrap(), before);
    assert_eq!(book.runs().unwrap().len(), 2);
}

/// Four terminals write to one run at once; each continues after the last entry of the others.
#[test]
fn racing_writers_lose_nothing_and_overwrite_nothing() {
    let (_folder, path) = new_path();
    Book::open(&path)
        .unwrap()
        .begin("r1", "mill", &[], &[draft("0")])
        .unwrap();
    let overtaken: u32 = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..4)
            .map(|writer| {
                let path = &path;
                scope.spawn(move || {
                    let mut book = Book::open(path).unwrap();
                    let (mut stands, mut written, mut overtaken) = (1, 0, 0);
                    while written < 5 {
                        let body = format!("{writer}.{written}");
                        match book.append("r1", stands, &[draft(&body)], false) {
                            Ok(_) => {
                                stands += 1;
                                written += 1;
                            }
                            Err(BookError::Overtaken { found, .. }) => {
                                stands = found;
                                overtaken += 1;
                            }
                            Err(error) => panic!("{error}"),
                        }
                    }
                    overtaken
                })
            })
            .collect();
        writers
            .into_iter()
            .map(|writer| writer.join().unwrap())
            .sum()
    });
    assert!(overtaken > 0, "the writers never met");
    let book = Book::open_existing(&path).unwrap();
    assert_eq!(book.verify_chain().unwrap().entries, 21);
    let mut bodies: Vec<_> = book
        .entries("r1")
        .unwrap()
        .into_iter()
        .map(|entry| entry.body)
        .collect();
    bodies.sort();
    bodies.dedup();
    assert_eq!(bodies.len(), 21);
}

#[test]
fn a_full_disk_is_reported_and_loses_nothing() {
    let (_folder, path) = new_path();
    let mut book = Book::open(&path).unwrap();
    book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
    let before = book.verify_chain().unwrap();
    // SQLite's own size limit gives the same error as a full disk.
    book.connection()
        .pragma_update_and_check(None, "max_page_count", 1, |_| Ok(()))
        .unwrap();
    let error = book
        .append("r1", 1, &[draft(&"x".repeat(100_000))], false)
        .unwrap_err();
    assert!(matches!(error, BookError::DiskFull { .. }), "{error}");
    assert_eq!(book.verify_chain().unwrap(), before);
    assert_eq!(book.runs().unwrap()[0].entries, 1);
}
