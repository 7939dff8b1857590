//! The check of the whole book.

use super::chain::{Chain, ChainProgress};
use super::entry::Entry;
use super::error::{BookError, Damage, at};
use super::opening::Book;
use super::reading::RunSummary;
use crate::fingerprint::Fingerprint;

/// The number of entries read under one lock, so that a writer does not have to wait until a long book is read.
const BATCH: usize = 4096;

impl Book {
    /// Checks everything in the book: SQLite's own structures; every entry's number, digest and link to the previous
    /// one; every run's and ledger's order and end; that the lists of runs and ledgers agree with the entries; and
    /// every document against its fingerprint.
    ///
    /// # Errors
    /// [`BookError::Damaged`] with the first damage, and disk errors.
    pub fn verify_chain(&self) -> Result<Chain, BookError> {
        let path = self.path();
        self.verify(BATCH).map_err(|error| match error {
            Fault::Damage(damage) => BookError::Damaged {
                path: path.to_path_buf(),
                damage,
            },
            Fault::Sqlite(error) => at(path)(error),
        })
    }

    fn verify(&self, batch: usize) -> Result<Chain, Fault> {
        let mut walk = ChainProgress::new();
        let columns = Entry::COLUMNS;
        let sql = format!("SELECT {columns} FROM entries WHERE seq >= ?1 ORDER BY seq LIMIT ?2");
        loop {
            let snapshot = self.connection().unchecked_transaction()?;
            let mut statement = snapshot.prepare_cached(&sql)?;
            let mut read = 0;
            // The first batch includes numbers below 1; otherwise an entry with such a number would never be read.
            let from = match walk.chain.entries {
                0 => i64::MIN,
                stands => i64::try_from(stands).unwrap_or(i64::MAX).saturating_add(1),
            };
            for entry in statement.query_map((from, batch), Entry::from_row)? {
                walk.step(entry?)?;
                read += 1;
            }
            if read == batch {
                continue;
            }
            // The list of runs is read in the same snapshot as the last entry, so both are from the same time.
            drop(statement);
            walk.compare(self.runs_in_snapshot()?)?;
            walk.compare_ledgers(self.ledgers_in_snapshot()?)?;
            break;
        }
        self.verify_documents()?;
        self.verify_structure()?;
        Ok(walk.chain)
    }

    fn runs_in_snapshot(&self) -> Result<Vec<RunSummary>, Fault> {
        let columns = RunSummary::COLUMNS;
        Ok(self
            .connection()
            .prepare(&format!("SELECT {columns} FROM runs ORDER BY first_seq"))?
            .query_map([], RunSummary::from_row)?
            .collect::<Result<_, _>>()?)
    }

    fn verify_documents(&self) -> Result<(), Fault> {
        let mut statement = self
            .connection()
            .prepare("SELECT fingerprint, content FROM documents")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let (fingerprint, content): (String, String) = (row.get(0)?, row.get(1)?);
            if Fingerprint::of(content).to_string() != fingerprint {
                return Err(Damage::Document { fingerprint }.into());
            }
        }
        Ok(())
    }

    /// Checks that SQLite finds its pages and indexes intact: an index without a row would hide that row.
    fn verify_structure(&self) -> Result<(), Fault> {
        let first: String =
            self.connection()
                .query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
        if first == "ok" {
            Ok(())
        } else {
            Err(Damage::File { detail: first }.into())
        }
    }
}

enum Fault {
    Damage(Damage),
    Sqlite(rusqlite::Error),
}

impl From<Damage> for Fault {
    fn from(damage: Damage) -> Self {
        Self::Damage(damage)
    }
}

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sqlite(error)
    }
}

#[cfg(test)]
mod tests {
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError, Chain, Damage, EntryFault};
    use crate::fingerprint::Fingerprint;
    use rusqlite::Connection;
    use std::path::Path;

    /// Writes two runs with alternating entries, the first of which has ended, and two documents.
    fn write(path: &Path) -> Chain {
        let mut book = Book::open(path).unwrap();
        let texts = [
            ("plate", Fingerprint::of("plate")),
            ("shop", Fingerprint::of("shop")),
        ];
        let [one, two] = texts.map(|(text, fingerprint)| (fingerprint, text));
        book.begin("r1", "mill", &[one, two], &[draft("1"), draft("2")])
            .unwrap();
        book.begin("r2", "router", &[two], &[draft("3")]).unwrap();
        book.append("r1", 2, &[draft("4"), draft("5")], true)
            .unwrap();
        let last = book.append("r2", 1, &[draft("6")], false).unwrap();
        Chain {
            entries: 6,
            last: last[0].digest,
        }
    }

    /// Makes one change directly in the database, with the triggers dropped, and returns the damage found.
    fn damage_after(change: &str) -> Damage {
        let (_folder, path) = new_path();
        write(&path);
        let plain = Connection::open(&path).unwrap();
        plain.pragma_update(None, "foreign_keys", false).unwrap();
        for trigger in [
            "entries_follow",
            "entries_stay",
            "entries_remain",
            "documents_stay",
            "documents_remain",
        ] {
            plain
                .execute_batch(&format!("DROP TRIGGER {trigger}"))
                .unwrap();
        }
        plain.execute_batch(change).unwrap();
        match Book::open_existing(&path).unwrap().verify_chain() {
            Err(BookError::Damaged { damage, .. }) => damage,
            other => panic!("{change}: {other:?}"),
        }
    }

    #[test]
    fn an_intact_book_passes() {
        let (_folder, path) = new_path();
        assert_eq!(
            Book::open(&path).unwrap().verify_chain().unwrap(),
            Chain {
                entries: 0,
                last: Fingerprint::NONE
            }
        );
        let expected = write(&path);
        let book = Book::open_existing(&path).unwrap();
        assert_eq!(book.verify_chain().unwrap(), expected);
        assert_eq!(book.last_digest().unwrap(), expected.last);
    }

    #[test]
    fn batches_make_no_difference() {
        let (_folder, path) = new_path();
        let expected = write(&path);
        let book = Book::open_existing(&path).unwrap();
        for batch in 1..=7 {
            assert_eq!(book.verify(batch).ok(), Some(expected), "batch {batch}");
        }
    }

    #[test]
    fn the_first_bad_entry_is_named() {
        let entry = |seq, fault| Damage::Entry { seq, fault };
        for (change, damage) in [
            (
                "UPDATE entries SET body = '7' WHERE seq = 2",
                entry(2, EntryFault::Content),
            ),
            (
                "UPDATE entries SET at = 'x' WHERE seq >= 4",
                entry(4, EntryFault::Content),
            ),
            (
                "UPDATE entries SET ends = 0 WHERE seq = 5",
                entry(5, EntryFault::Content),
            ),
            (
                "UPDATE entries SET opens = 'x' WHERE seq = 3",
                entry(3, EntryFault::Content),
            ),
            (
                "DELETE FROM entries WHERE seq = 1",
                entry(2, EntryFault::Gap { expected: 1 }),
            ),
            (
                "DELETE FROM entries WHERE seq = 4",
                entry(5, EntryFault::Gap { expected: 4 }),
            ),
            (
                "DELETE FROM entries WHERE seq = 6",
                Damage::Run { run: "r2".into() },
            ),
            ("DELETE FROM entries", Damage::Run { run: "r1".into() }),
            (
                "UPDATE runs SET machine = 'lathe' WHERE run = 'r2'",
                Damage::Run { run: "r2".into() },
            ),
            (
                "UPDATE runs SET open = 1 WHERE run = 'r1'",
                Damage::Run { run: "r1".into() },
            ),
            (
                "UPDATE runs SET open = 0 WHERE run = 'r2'",
                Damage::Run { run: "r2".into() },
            ),
            (
                "UPDATE runs SET entries = 9 WHERE run = 'r2'",
                Damage::Run { run: "r2".into() },
            ),
            (
                "DELETE FROM runs WHERE run = 'r2'",
                Damage::Run { run: "r2".into() },
            ),
            (
                "UPDATE documents SET content = 'x' WHERE content = 'shop'",
                Damage::Document {
                    fingerprint: Fingerprint::of("shop").to_string(),
                },
            ),
        ] {
            assert_eq!(damage_after(change), damage, "{change}");
        }
    }

    /// A changed entry with a new matching digest is still detected, at the next entry or by its number in its run.
    #[test]
    fn a_forged_digest_is_detected_later() {
        let forge = |seq: u64, change: &dyn Fn(&mut crate::book::Entry)| {
            let (_folder, path) = new_path();
            write(&path);
            let book = Book::open(&path).unwrap();
            let mut entries = book.entries("r1").unwrap();
            entries.extend(book.entries("r2").unwrap());
            let mut forged = entries.into_iter().find(|entry| entry.seq == seq).unwrap();
            change(&mut forged);
            format!(
                "UPDATE entries SET body = '{}', n = {}, run = '{}', ends = {}, digest = '{}' WHERE seq = {seq}",
                forged.body,
                forged.n,
                forged.run,
                forged.ends,
                forged.expected_digest()
            )
        };
        let link = |seq| Damage::Entry {
            seq,
            fault: EntryFault::Link,
        };
        assert_eq!(damage_after(&forge(2, &|e| e.body = "7".into())), link(3));
        let place = forge(6, &|e| e.n = 3);
        assert_eq!(
            damage_after(&place),
            Damage::Entry {
                seq: 6,
                fault: EntryFault::Place { expected: 2 }
            }
        );
        let after_end = forge(6, &|e| {
            e.run = "r1".into();
            e.n = 5;
        });
        assert_eq!(
            damage_after(&after_end),
            Damage::Entry {
                seq: 6,
                fault: EntryFault::AfterEnd
            }
        );
        let ended = forge(6, &|e| e.ends = true);
        assert_eq!(damage_after(&ended), Damage::Run { run: "r2".into() });
    }

    /// The whole content of a book, or `None` when it is reported as damaged or as no book.
    fn readable_text(path: &Path) -> Option<String> {
        let book = Book::open_existing(path).ok()?;
        let chain = book.verify_chain().ok()?;
        let runs = book.runs().ok()?;
        let entries: Vec<_> = runs.iter().map(|run| book.entries(&run.run).ok()).collect();
        let documents = ["plate", "shop"].map(|text| book.document(Fingerprint::of(text)).ok());
        Some(format!("{chain:?} {runs:?} {entries:?} {documents:?}"))
    }

    /// The content after one byte was changed; `None` where the change is detected.
    fn told_with_a_changed_byte(whole: &[u8], place: usize, copy: &Path) -> Option<String> {
        let mut changed = whole.to_vec();
        changed[place] ^= 0x04;
        std::fs::write(copy, changed).unwrap();
        readable_text(copy)
    }

    /// No byte of the file can be changed so that the book passes with other content. (Many can be changed without
    /// harm: free space, the spelling of the stored CREATE statements.)
    #[test]
    fn no_changed_byte_makes_the_book_pass_with_other_content() {
        let (folder, path) = new_path();
        write(&path);
        let whole = std::fs::read(&path).unwrap();
        let before = readable_text(&path);
        assert!(before.is_some());
        let copy = folder.path().join("copy");
        // The stride has no common factor with the page size, so every kind of position is visited.
        for place in (0..whole.len()).step_by(23) {
            let after = told_with_a_changed_byte(&whole, place, &copy);
            assert!(
                after.is_none() || after == before,
                "byte {place}: {after:?}"
            );
        }
    }

    #[test]
    fn every_changed_byte_of_the_record_is_detected() {
        let (folder, path) = new_path();
        write(&path);
        let whole = std::fs::read(&path).unwrap();
        let copy = folder.path().join("copy");
        let book = Book::open_existing(&path).unwrap();
        let mut stored: Vec<String> = ["plate", "shop"]
            .map(|text| format!("{}{text}", Fingerprint::of(text)))
            .into();
        for entry in ["r1", "r2"]
            .iter()
            .flat_map(|run| book.entries(run).unwrap())
        {
            stored.push(format!("{}{}{}", entry.at, entry.kind, entry.body));
            stored.push(format!("{}{}", entry.previous, entry.digest));
        }
        for text in stored {
            let mut found = whole.windows(text.len()).enumerate();
            let (start, _) = found
                .find(|(_, window)| *window == text.as_bytes())
                .unwrap();
            for place in (start..start + text.len()).step_by(5) {
                let after = told_with_a_changed_byte(&whole, place, &copy);
                assert_eq!(after, None, "byte {place} in {text}");
            }
        }
    }

    #[test]
    fn a_file_cut_short_is_damaged() {
        let (_folder, path) = new_path();
        write(&path);
        let whole = std::fs::read(&path).unwrap();
        std::fs::write(&path, &whole[..whole.len() - 4096]).unwrap();
        let verdict = Book::open_existing(&path).and_then(|book| book.verify_chain());
        assert!(
            matches!(verdict, Err(BookError::Damaged { .. })),
            "{verdict:?}"
        );
    }
}
