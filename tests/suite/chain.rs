//! A record that was tampered with shows it. Thousands of seeded changes to a small book: each is found, or harmless in
//! that what is read from the book is still the same.

use crate::workshop::{Seeded, Workshop, ended, entries, events, whole};
use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};
use skimgate::book::{Book, Entry};
use skimgate::interlock::Event;
use std::path::{Path, PathBuf};

const ENTRY_CASES: usize = 1000;
const BYTE_CASES: usize = 1000;
const COLUMNS: &str = "seq, run, n, at, kind, version, body, opens, ends, previous, digest";

/// Everything that can be read from a book that is found whole; none where something is found wrong.
type Content = Option<(Vec<Entry>, Vec<String>)>;

fn content(path: &Path) -> Content {
    let book = Book::open_existing(path).ok()?;
    book.verify_chain().ok()?;
    let entries = entries(&book);
    let texts = events(&entries)
        .into_iter()
        .filter_map(|event| match event {
            Event::Began(begun) => Some([begun.procedure, begun.shop]),
            _ => None,
        });
    let texts: Option<_> = texts
        .flatten()
        .map(|text| book.document(text).ok())
        .collect();
    Some((entries, texts?))
}

/// Two runs, one after the other.
fn made() -> Workshop {
    let shop = Workshop::new();
    shop.walked();
    shop.walked();
    shop
}

fn plain(path: &Path) -> Connection {
    let plain = Connection::open(path).unwrap();
    plain
        .execute_batch(
            "PRAGMA synchronous = OFF; PRAGMA journal_mode = MEMORY; PRAGMA foreign_keys = OFF;
             PRAGMA ignore_check_constraints = ON;",
        )
        .unwrap();
    let triggers: Vec<String> = plain
        .prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert!(triggers.len() >= 6, "{triggers:?}");
    for trigger in triggers {
        plain
            .execute_batch(&format!("DROP TRIGGER {trigger}"))
            .unwrap();
    }
    plain
}

fn row(plain: &Connection, seq: i64) -> Vec<Value> {
    plain
        .query_row(
            &format!("SELECT {COLUMNS} FROM entries WHERE seq = ?1"),
            [seq],
            |row| (0..11).map(|i| row.get(i)).collect(),
        )
        .unwrap()
}

fn put(plain: &Connection, row: Vec<Value>) -> rusqlite::Result<usize> {
    plain.execute(
        &format!(
            "INSERT INTO entries ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)"
        ),
        params_from_iter(row),
    )
}

fn remove(plain: &Connection, seq: i64) {
    let removed = plain.execute("DELETE FROM entries WHERE seq = ?1", [seq]);
    assert_eq!(removed, Ok(1));
}

/// One character of a text, or a number, changed.
fn flipped(value: &Value, random: &mut Seeded) -> Value {
    match value {
        Value::Text(text) if !text.is_empty() => {
            let mut letters: Vec<char> = text.chars().collect();
            let at = random.below(letters.len());
            letters[at] = if letters[at] == '7' { '8' } else { '7' };
            Value::Text(letters.into_iter().collect())
        }
        Value::Integer(number) => Value::Integer(number ^ (1 << random.below(5))),
        _ => Value::Text("7".into()),
    }
}

/// One change to the rows of the book; what it was, in words. None where the tables' own rules refuse it.
fn tamper(plain: &Connection, last: usize, random: &mut Seeded) -> Option<String> {
    let any = |random: &mut Seeded| i64::try_from(random.below(last) + 1).unwrap();
    let seq = any(random);
    match random.below(8) {
        0 | 1 => {
            let mut changed = row(plain, seq);
            let column = random.below(11);
            changed[column] = flipped(&changed[column], random);
            remove(plain, seq);
            put(plain, changed).ok()?;
            Some(format!("column {column} of entry {seq} changed"))
        }
        2 => {
            remove(plain, seq);
            Some(format!("entry {seq} dropped"))
        }
        3 => {
            let end = i64::try_from(last).unwrap();
            for seq in seq..=end {
                remove(plain, seq);
            }
            Some(format!("entries {seq} to {end} dropped"))
        }
        4 => {
            let other = any(random);
            if other == seq {
                return None;
            }
            let (mut one, mut two) = (row(plain, seq), row(plain, other));
            remove(plain, seq);
            remove(plain, other);
            one.swap_with_slice(&mut two[..]);
            (one[0], two[0]) = (Value::Integer(seq), Value::Integer(other));
            put(plain, one).and_then(|_| put(plain, two)).ok()?;
            Some(format!("entries {seq} and {other} swapped"))
        }
        5 => {
            let mut again = row(plain, seq);
            again[0] = Value::Integer(i64::try_from(last).unwrap() + 1);
            // Its place in its run is unique; both the next one and one of another run are tried.
            again[2] = Value::Integer(i64::try_from(last + random.below(3)).unwrap());
            put(plain, again).ok()?;
            Some(format!("entry {seq} repeated at the end"))
        }
        6 => {
            let column = [
                "run",
                "machine",
                "first_at",
                "last_at",
                "entries",
                "open",
                "first_seq",
            ][random.below(7)];
            let id = random.below(2);
            let (row, value): (i64, Value) = plain
                .query_row(
                    &format!("SELECT first_seq, {column} FROM runs ORDER BY first_seq LIMIT 1 OFFSET {id}"),
                    [],
                    |row| Ok((row.get(0)?, row.get(1)?)),
                )
                .unwrap();
            let value = flipped(&value, random);
            let sql = format!("UPDATE runs SET {column} = ?1 WHERE first_seq = ?2");
            plain.execute(&sql, (value, row)).ok()?;
            Some(format!("{column} of the list of runs changed"))
        }
        _ => {
            let (print, text): (String, String) = plain
                .query_row(
                    "SELECT fingerprint, content FROM documents ORDER BY fingerprint LIMIT 1 OFFSET ?1",
                    [random.below(2)],
                    |row| Ok((row.get(0)?, row.get(1)?)),
                )
                .unwrap();
            if random.below(4) == 0 {
                let sql = "DELETE FROM documents WHERE fingerprint = ?1";
                assert_eq!(plain.execute(sql, [print]), Ok(1));
                return Some("a document dropped".into());
            }
            let column = ["fingerprint", "content"][random.below(2)];
            let old = if column == "content" {
                text
            } else {
                print.clone()
            };
            let new = flipped(&Value::Text(old), random);
            let sql = format!("UPDATE documents SET {column} = ?1 WHERE fingerprint = ?2");
            plain.execute(&sql, (new, print)).ok()?;
            Some(format!("{column} of a document changed"))
        }
    }
}

#[test]
fn entries_changed_dropped_swapped_and_repeated_are_found() {
    let shop = made();
    let before = content(&shop.book());
    let last = before.as_ref().unwrap().0.len();
    let copy = shop.at("copy");
    let untouched = std::fs::read(shop.book()).unwrap();
    let mut random = Seeded(3);
    let (mut found, mut harmless) = (0, Vec::new());
    while found < ENTRY_CASES {
        std::fs::write(&copy, &untouched).unwrap();
        let connection = plain(&copy);
        connection.execute_batch("BEGIN").unwrap();
        let Some(what) = tamper(&connection, last, &mut random) else {
            continue;
        };
        connection.execute_batch("COMMIT").unwrap();
        drop(connection);
        match content(&copy) {
            None => found += 1,
            same if same == before => harmless.push(what),
            _ => panic!("{what}: not found"),
        }
    }
    println!("{found} found, {} harmless: {harmless:?}", harmless.len());
    // `first_seq` orders the list of runs and says nothing else.
    assert!(
        harmless.iter().all(|what| what.starts_with("first_seq")),
        "{harmless:?}"
    );
}

#[test]
fn changed_bytes_of_the_file_are_found_or_harmless() {
    let shop = made();
    let before = content(&shop.book());
    assert!(before.is_some());
    let untouched = std::fs::read(shop.book()).unwrap();
    let copy = shop.at("copy");
    let mut random = Seeded(5);
    let (mut found, mut harmless) = (0, 0);
    for case in 0..BYTE_CASES {
        let mut bytes = untouched.clone();
        let at = random.below(bytes.len());
        let page = 4096;
        let pages = bytes.len() / page;
        match random.below(6) {
            0..=2 => bytes[at] ^= 1 << random.below(8),
            3 => {
                let end = (at + 1 + random.below(64)).min(bytes.len());
                bytes[at..end].fill(0);
            }
            4 => {
                let (from, to) = (random.below(pages) * page, random.below(pages) * page);
                bytes.copy_within(from..from + page, to);
            }
            _ => bytes.truncate(at),
        }
        std::fs::write(&copy, &bytes).unwrap();
        match content(&copy) {
            None => found += 1,
            same if same == before => harmless += 1,
            _ => panic!("case {case}, byte {at}: not found"),
        }
    }
    println!("{found} found, {harmless} harmless");
    assert!(
        found > BYTE_CASES / 2,
        "only {found} of {BYTE_CASES} changed anything"
    );
}

/// What a chain cannot show by itself: it shows against a digest written down.
#[test]
fn a_tail_cut_off_with_care_shows_against_the_last_digest() {
    let shop = made();
    let written_down = Book::open_existing(shop.book())
        .unwrap()
        .last_digest()
        .unwrap();
    let connection = plain(&shop.book());
    connection
        .execute_batch(
            "DELETE FROM entries WHERE seq = (SELECT max(seq) FROM entries);
             UPDATE runs SET entries = entries - 1, open = 1,
                 last_at = (SELECT at FROM entries WHERE seq = (SELECT max(seq) FROM entries))
             WHERE first_seq = (SELECT max(first_seq) FROM runs)",
        )
        .unwrap();
    drop(connection);
    let last = whole(&shop.book()).pop().unwrap();
    assert_ne!(last.digest, written_down);
    let told = ended(shop.skimgate(&["record", "verify"]), 0, &[]);
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(told.contains(&last.digest.to_string()), "{told}");
}

fn json(bytes: &[u8]) -> serde_json::Value {
    serde_json::from_slice(bytes).unwrap()
}

#[test]
fn verify_tells_a_whole_book_by_its_count_and_last_digest() {
    let shop = made();
    let mut all = whole(&shop.book());
    // The lines of the plate's account stand in the same chain.
    let book = Book::open_existing(shop.book()).unwrap();
    all.extend(book.ledger("stock bed-a").unwrap());
    all.sort_by_key(|entry| entry.seq);
    drop(book);
    let digest = all[all.len() - 1].digest.to_string();
    let told = ended(shop.skimgate(&["record", "verify"]), 0, &[]);
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(
        told.contains(&format!("{} entries", all.len())) && told.contains(&digest),
        "{told}"
    );
    let told = ended(
        shop.skimgate(&["record", "verify", &all[0].run, "--json"]),
        0,
        &[],
    );
    let told = json(&told.stdout);
    assert_eq!(told["whole"], true);
    assert_eq!(told["entries"], all.len());
    assert_eq!(told["last_digest"], digest);
    assert_eq!(told["runs_replayed"], 1);
    ended(
        shop.skimgate(&["record", "verify", "nothing"]),
        2,
        &["no run in the book"],
    );
}

#[test]
fn a_damaged_book_is_named_not_walked_on_and_gives_out_what_is_whole() {
    let shop = made();
    let all = whole(&shop.book());
    let (first, second) = (all[0].run.clone(), all[all.len() - 1].run.clone());
    let of_first = all.iter().filter(|entry| entry.run == first).count();
    plain(&shop.book())
        .execute_batch("UPDATE entries SET body = replace(body, 'worn', 'torn') WHERE seq = 4")
        .unwrap();
    assert!(all[3].body.contains("worn"), "{:?}", all[3]);

    let told = ended(shop.skimgate(&["record", "verify"]), 4, &[]);
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(
        told.contains("entry 4: its content has been changed"),
        "{told}"
    );
    let told = ended(shop.skimgate(&["record", "verify", "--json"]), 4, &[]);
    assert_eq!(json(&told.stdout)["first_bad_entry"], 4);

    let bytes = std::fs::read(shop.book()).unwrap();
    let words = [
        "entry 4: its content has been changed",
        "record verify",
        "record export",
    ];
    ended(shop.walk(), 4, &words);
    assert_eq!(
        std::fs::read(shop.book()).unwrap(),
        bytes,
        "the walk wrote to it"
    );

    let words = ["entry 4", "left out as changed: 4"];
    let out = shop.at("first.jsonl");
    ended(
        shop.skimgate(&["record", "export", &first, "-o", "first.jsonl"]),
        4,
        &words,
    );
    let lines = lines(&out);
    assert_eq!(lines.len(), of_first - 1);
    let chained: Vec<u64> = lines
        .iter()
        .filter(|line| line["chained"] == true)
        .map(|line| line["seq"].as_u64().unwrap())
        .collect();
    assert_eq!(chained, [1, 2, 3]);
    assert!(lines.iter().all(|line| line["seq"] != 4));
    for (line, entry) in lines.iter().skip(3).zip(&all[4..]) {
        assert_eq!(line["body"], entry.body);
        assert_eq!(line["digest"], entry.digest.to_string());
    }
    // A file that is there is not written over.
    let refused = ["record", "export", &first, "-o", "first.jsonl"];
    ended(
        shop.skimgate(&refused),
        1,
        &["first.jsonl cannot be written"],
    );
    let told = ended(
        shop.skimgate(&["record", "export", &second]),
        4,
        &["entry 4"],
    );
    let told = String::from_utf8(told.stdout).unwrap();
    assert_eq!(told.lines().count(), all.len() - of_first);
}

fn lines(path: &PathBuf) -> Vec<serde_json::Value> {
    let text = std::fs::read_to_string(path).unwrap();
    text.lines().map(|line| json(line.as_bytes())).collect()
}

#[test]
fn an_entry_that_was_forged_with_all_its_digests_is_found_by_its_content() {
    let shop = Workshop::new();
    shop.walked();
    let mut last = whole(&shop.book()).pop().unwrap();
    last.body = last.body.replace("ended", "stopped");
    plain(&shop.book())
        .execute(
            "UPDATE entries SET body = ?1, digest = ?2 WHERE seq = ?3",
            (
                &last.body,
                last.expected_digest().to_string(),
                i64::try_from(last.seq).unwrap(),
            ),
        )
        .unwrap();
    Book::open_existing(shop.book())
        .unwrap()
        .verify_chain()
        .unwrap();
    let told = ended(shop.skimgate(&["record", "verify"]), 4, &[]);
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(told.contains(&format!("entry {} of run", last.n)), "{told}");
}

/// What a run began with is part of the record: without its text nobody can say what the answers were to.
#[test]
fn a_document_that_was_deleted_or_changed_is_found() {
    for (sql, part) in [
        ("DELETE FROM documents", "document"),
        (
            "DELETE FROM documents WHERE content LIKE '%shop: Test bench%'",
            "document",
        ),
        (
            "UPDATE documents SET content = replace(content, 'deepest bite', 'deepest_bite')",
            "document",
        ),
    ] {
        let shop = made();
        let changed = plain(&shop.book()).execute(sql, []).unwrap();
        assert!(changed > 0, "{sql}");
        let told = ended(shop.skimgate(&["record", "verify"]), 4, &[]);
        let told = String::from_utf8(told.stdout).unwrap();
        assert!(
            told.contains("Damaged") && told.contains(part),
            "{sql}: {told}"
        );
        let told = ended(shop.skimgate(&["record", "verify", "--json"]), 4, &[]);
        assert_eq!(json(&told.stdout)["whole"], false, "{sql}");
    }
}
