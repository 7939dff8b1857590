//! Book files: changes to a valid book, or any bytes. Opened, listed, verified, salvaged and replayed without a panic; and a
//! book that is found whole after a change still says what was written.

use super::pick::Picks;
use super::rig::{BEGUN, PROCEDURE, SHOP, beginning, moment};
use skimgate::book::{Book, BookError, Entry};
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::Instance;
use skimgate::interlock::answer::Answer;
use skimgate::interlock::event::{Event, Outcome};
use skimgate::walk::store::log::drafts;
use skimgate::walk::store::replay::replay;
use std::path::Path;
use std::sync::OnceLock;

/// The bytes of a book with two runs, and what is in it.
struct Whole {
    bytes: Vec<u8>,
    content: Content,
}

type Content = (Vec<Entry>, Vec<String>);

fn whole() -> &'static Whole {
    static WHOLE: OnceLock<Whole> = OnceLock::new();
    WHOLE.get_or_init(|| {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("book.sqlite3");
        let mut book = Book::open(&path).expect("a new book");
        let texts = [PROCEDURE, SHOP].map(|text| (Fingerprint::of(text), text));
        for run in ["r1", "r2"] {
            let answered = |step: &str, word: &str| Event::Answered {
                at: Instance::new(step, None),
                answer: Answer::Word(word.into()),
                by: "JT".into(),
                from: None,
                seen: None,
            };
            let mut events = vec![Event::Began(beginning(run, false))];
            events.extend([answered("cutter", "c12"), answered("plate", "bed-a")]);
            let first = drafts(&events, moment(BEGUN)).expect("drafts");
            book.begin(run, "north", &texts, &first).expect("a run");
            let last = Event::Ended {
                outcome: Outcome::Abandoned,
                by: "JT".into(),
                from: None,
            };
            let last = drafts(&[last], moment(BEGUN + 1000)).expect("drafts");
            book.append(run, 3, &last, true).expect("an end");
        }
        let content = content(&book).expect("a whole book");
        drop(book);
        let bytes = std::fs::read(&path).expect("the book's bytes");
        Whole { bytes, content }
    })
}

/// What can be read from a book that is found whole.
fn content(book: &Book) -> Option<Content> {
    book.verify_chain().ok()?;
    let runs = book.runs().expect("a whole book lists its runs");
    let mut entries = Vec::new();
    for run in &runs {
        entries.extend(
            book.entries(&run.run)
                .expect("a whole book gives its entries"),
        );
    }
    let texts = [PROCEDURE, SHOP]
        .iter()
        .filter_map(|text| book.document(Fingerprint::of(text)).ok());
    Some((entries, texts.collect()))
}

/// Changes to the bytes of a whole book, as `data` chooses them.
fn changed(data: &[u8]) -> Vec<u8> {
    let mut picks = Picks(data);
    let mut bytes = whole().bytes.clone();
    for _ in 0..32 {
        if picks.is_over() || bytes.is_empty() {
            break;
        }
        let kind = picks.below(8);
        let at = picks.below(bytes.len());
        match kind {
            0..=2 => bytes[at] = picks.byte(),
            3 => bytes[at] ^= 1 << (picks.byte() % 8),
            // The file's head and the heads of its pages decide how the rest is read.
            4 => {
                let head = picks.below(110);
                let page = picks.below(bytes.len() / 4096 + 1) * 4096;
                let at = (page + head).min(bytes.len() - 1);
                bytes[at] = picks.byte();
            }
            5 => {
                let length = picks.below(64);
                let from = picks.below(bytes.len());
                let piece: Vec<u8> = bytes.iter().skip(from).take(length).copied().collect();
                for (place, byte) in bytes.iter_mut().skip(at).zip(piece) {
                    *place = byte;
                }
            }
            6 => {
                // A page put over another.
                let page = |picks: &mut Picks| picks.below(whole().bytes.len() / 4096) * 4096;
                let (from, to) = (page(&mut picks), page(&mut picks));
                if from.max(to) + 4096 <= bytes.len() {
                    bytes.copy_within(from..from + 4096, to);
                }
            }
            _ => bytes.truncate(at),
        }
    }
    bytes
}

pub fn run(data: &[u8]) {
    let Some((kind, rest)) = data.split_first() else {
        return;
    };
    let of_whole = kind % 4 != 3;
    let bytes = if of_whole {
        changed(rest)
    } else {
        rest.to_vec()
    };
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("book.sqlite3");
    std::fs::write(&path, bytes).expect("written");
    reads(&path, of_whole);
    writes(&path);
}

fn reads(path: &Path, of_whole: bool) {
    let before = std::fs::read(path).expect("the book's bytes");
    let book = match Book::open_existing(path) {
        Ok(book) => book,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    let runs = book.runs().unwrap_or_default();
    let _ = book.open_runs();
    let walkable = book.check_for_walking(20_000).is_ok();
    match content(&book) {
        Some(found) => {
            assert!(
                !of_whole || found == whole().content,
                "whole, and not the same"
            );
        }
        None => assert!(!walkable, "not whole, and may be walked on"),
    }
    for name in ["r1", "r2"]
        .into_iter()
        .chain(runs.iter().map(|r| r.run.as_str()))
        .take(6)
    {
        let _ = book.find_run(name);
        let _ = replay(&book, name);
        if let Ok(salvage) = book.salvage(name) {
            for sound in &salvage.entries {
                assert_eq!(sound.entry.digest, sound.entry.expected_digest());
                // A digest made anew is no forgery that a few bytes could make.
                assert!(!of_whole || whole().content.0.contains(&sound.entry));
            }
        }
    }
    drop(book);
    assert!(
        std::fs::read(path).expect("the book's bytes") == before,
        "reading changed the book"
    );
}

fn writes(path: &Path) {
    let Ok(mut book) = Book::open(path) else {
        return;
    };
    let events = [Event::Noted {
        by: "JT".into(),
        text: "x".into(),
        from: None,
    }];
    let drafts = drafts(&events, moment(BEGUN)).expect("drafts");
    let begun = book.begin("r3", "south", &[], &drafts);
    if let Ok(entries) = begun {
        assert_eq!(entries.len(), 1);
    } else if let Err(error) = begun {
        assert!(!matches!(error, BookError::NothingToWrite { .. }));
    }
}
