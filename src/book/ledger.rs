//! Ledgers: streams of entries in addition to the runs, in the same chain and with the same rules, but without a
//! machine, a beginning or an end.

use std::path::Path;

use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};

use super::chain::LastEntry;
use super::entry::{Draft, Entry, LEDGER};
use super::error::{BookError, Damage, EntryFault, at};
use super::opening::Book;
use super::writing::{commit, immediate};

/// Entries for a ledger.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ToLedger<'a> {
    /// The name of the ledger, without the colon.
    pub ledger: &'a str,
    /// The last of its entries that the writer has seen; 0 for none.
    pub after_n: u32,
    /// The entries to write.
    pub drafts: &'a [Draft],
}

/// A row of the list of ledgers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LedgerSummary {
    pub(super) ledger: String,
    pub(super) entries: u32,
    pub(super) last_at: String,
}

impl LedgerSummary {
    fn from_row(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            ledger: row.get(0)?,
            entries: row.get(1)?,
            last_at: row.get(2)?,
        })
    }
}

impl Book {
    /// The ledger's entries in order, each checked against its digest and all against the list of ledgers. Empty for a
    /// ledger without entries.
    ///
    /// # Errors
    /// [`BookError::Damaged`], and disk errors.
    pub fn ledger(&self, name: &str) -> Result<Vec<Entry>, BookError> {
        // Read in one snapshot, because an append between two reads would look like damage.
        let _snapshot = self
            .connection()
            .unchecked_transaction()
            .map_err(at(self.path()))?;
        entries_of(self.connection(), self.path(), name)
    }

    /// Reads the ledger and writes the drafts that `decide` returns, all under the book's write lock, so no other
    /// terminal can write in between. Returns the other result of `decide` once the drafts are on disk.
    ///
    /// # Errors
    /// Those of `decide`, in which case nothing is written, and those of [`Book::ledger`] and
    /// [`Book::append_to_ledger`].
    pub(crate) fn decide_in_ledger<T, E: From<BookError>>(
        &mut self,
        name: &str,
        decide: impl FnOnce(&[Entry]) -> Result<(T, Vec<Draft>), E>,
    ) -> Result<T, E> {
        let (connection, path) = self.parts()?;
        let transaction = immediate(connection, path)?;
        let entries = entries_of(&transaction, path, name)?;
        let (decided, drafts) = decide(&entries)?;
        if !drafts.is_empty() {
            let tip = LastEntry::of(&transaction).map_err(at(path))?;
            let what = ToLedger {
                ledger: name,
                after_n: entries.last().map_or(0, |e| e.n),
                drafts: &drafts,
            };
            let entries = to_ledger(&transaction, path, &tip, &what)?;
            commit(transaction, path, entries)?;
        }
        Ok(decided)
    }

    /// Writes `drafts` to the ledger after its entry `after_n` (0 while it has none), in one transaction. Returns the
    /// entries once they are on disk.
    ///
    /// # Errors
    /// [`BookError::LedgerOvertaken`] when the ledger's last entry is not `after_n`, [`BookError::BadName`], and disk
    /// errors.
    pub fn append_to_ledger(
        &mut self,
        name: &str,
        after_n: u32,
        drafts: &[Draft],
    ) -> Result<Vec<Entry>, BookError> {
        let (connection, path) = self.parts()?;
        let transaction = immediate(connection, path)?;
        let tip = LastEntry::of(&transaction).map_err(at(path))?;
        let what = ToLedger {
            ledger: name,
            after_n,
            drafts,
        };
        let entries = to_ledger(&transaction, path, &tip, &what)?;
        commit(transaction, path, entries)
    }

    /// The names of all ledgers, in alphabetical order.
    ///
    /// # Errors
    /// Disk errors.
    pub fn ledgers(&self) -> Result<Vec<String>, BookError> {
        let found = self.ledgers_in_snapshot().map_err(at(self.path()))?;
        Ok(found.into_iter().map(|l| l.ledger).collect())
    }

    /// The list of ledgers; empty for a book of layout 1, which has no such list. To be called in a snapshot.
    pub(super) fn ledgers_in_snapshot(&self) -> rusqlite::Result<Vec<LedgerSummary>> {
        listed_ledgers(self.connection())
    }
}

fn listed_ledgers(connection: &Connection) -> rusqlite::Result<Vec<LedgerSummary>> {
    let kept: bool = connection.query_row(
        "SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'ledgers')",
        [],
        |row| row.get(0),
    )?;
    if !kept {
        return Ok(Vec::new());
    }
    connection
        .prepare_cached("SELECT ledger, entries, last_at FROM ledgers ORDER BY ledger")?
        .query_map([], LedgerSummary::from_row)?
        .collect()
}

/// The ledger's entries, checked; to be called in a transaction.
fn entries_of(connection: &Connection, path: &Path, name: &str) -> Result<Vec<Entry>, BookError> {
    let columns = Entry::COLUMNS;
    let sql = format!("SELECT {columns} FROM entries WHERE run = ?1 ORDER BY n");
    let read = || -> rusqlite::Result<(Vec<Entry>, u32)> {
        let entries = connection
            .prepare_cached(&sql)?
            .query_map([stream(name)], Entry::from_row)?
            .collect::<Result<_, _>>()?;
        let listed = listed_ledgers(connection)?;
        let listed = listed.iter().find(|l| l.ledger == name);
        Ok((entries, listed.map_or(0, |l| l.entries)))
    };
    let (entries, listed) = read().map_err(at(path))?;
    let damaged = |damage| BookError::Damaged {
        path: path.to_path_buf(),
        damage,
    };
    for (entry, expected) in entries.iter().zip(1..) {
        let fault = if entry.n != expected {
            EntryFault::Place { expected }
        } else if entry.digest != entry.expected_digest() {
            EntryFault::Content
        } else {
            continue;
        };
        return Err(damaged(Damage::Entry {
            seq: entry.seq,
            fault,
        }));
    }
    if u32::try_from(entries.len()) != Ok(listed) {
        return Err(damaged(Damage::Ledger {
            ledger: name.to_owned(),
        }));
    }
    Ok(entries)
}

/// Adds the drafts to their ledger and updates the list of ledgers. Returns the entries.
pub(super) fn to_ledger(
    transaction: &Transaction<'_>,
    path: &Path,
    tip: &LastEntry,
    what: &ToLedger<'_>,
) -> Result<Vec<Entry>, BookError> {
    let name = what.ledger;
    if name.is_empty() || name.starts_with(LEDGER) {
        return Err(BookError::BadName {
            name: name.to_owned(),
            what: "ledger",
        });
    }
    let found: Option<u32> = transaction
        .query_row(
            "SELECT entries FROM ledgers WHERE ledger = ?1",
            [name],
            |row| row.get(0),
        )
        .optional()
        .map_err(at(path))?;
    let found = found.unwrap_or(0);
    if found != what.after_n {
        return Err(BookError::LedgerOvertaken {
            ledger: name.to_owned(),
            seen: what.after_n,
            found,
        });
    }
    let Some(last) = what.drafts.last() else {
        return Ok(Vec::new());
    };
    let entries = tip.chain(&stream(name), found, None, what.drafts, false);
    transaction
        .execute(
            "INSERT INTO ledgers (ledger, entries, last_at) VALUES (?1, ?2, ?3)
             ON CONFLICT DO UPDATE SET entries = entries + excluded.entries, last_at = excluded.last_at",
            params![name, what.drafts.len(), last.at],
        )
        .map_err(at(path))?;
    Ok(entries)
}

/// The name of a ledger in the column that holds the run's name for entries of a run.
fn stream(ledger: &str) -> String {
    format!("{LEDGER}{ledger}")
}

#[cfg(test)]
mod tests {
    use super::ToLedger;
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError, Damage};
    use rusqlite::Connection;

    #[test]
    fn ledgers_and_runs_are_in_one_chain() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        assert_eq!(book.ledger("people").unwrap(), []);
        let mut written = book
            .append_to_ledger("people", 0, &[draft("1"), draft("2")])
            .unwrap();
        book.begin("r1", "mill", &[], &[draft("3")]).unwrap();
        book.append_to_ledger("stock", 0, &[draft("4")]).unwrap();
        written.extend(book.append_to_ledger("people", 2, &[draft("5")]).unwrap());
        assert_eq!(book.ledger("people").unwrap(), written);
        assert_eq!(written.last().unwrap().ledger(), Some("people"));
        assert_eq!(book.verify_chain().unwrap().entries, 5);
        let runs = book.runs().unwrap();
        assert_eq!(runs.len(), 1);
        assert_eq!((runs[0].run.as_str(), runs[0].entries), ("r1", 1));
        assert!(book.find_run(":").is_err());
        assert!(book.find_run(":people").is_err());
        assert_eq!(
            Book::open_existing(&path)
                .unwrap()
                .ledger("people")
                .unwrap(),
            written
        );
    }

    #[test]
    fn nobody_writes_to_a_ledger_without_having_seen_all_of_it() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        book.append_to_ledger("people", 0, &[draft("1")]).unwrap();
        for seen in [0, 2] {
            let error = book.append_to_ledger("people", seen, &[draft("2")]);
            assert!(
                matches!(error, Err(BookError::LedgerOvertaken { found: 1, .. })),
                "{error:?}"
            );
        }
        assert_eq!(book.ledger("people").unwrap().len(), 1);
    }

    #[test]
    fn a_run_and_its_ledger_entry_are_written_together_or_not_at_all() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
        let drafts = [draft("3")];
        let mut also = ToLedger {
            ledger: "stock",
            after_n: 7,
            drafts: &drafts,
        };
        book.append_with_ledger("r1", 1, &[draft("2")], true, &also)
            .unwrap_err();
        assert_eq!(book.entries("r1").unwrap().len(), 1);
        also.after_n = 0;
        book.append_with_ledger("r1", 9, &[draft("2")], true, &also)
            .unwrap_err();
        assert_eq!(book.ledger("stock").unwrap(), []);
        let both = book
            .append_with_ledger("r1", 1, &[draft("2")], true, &also)
            .unwrap();
        assert_eq!([both[0].seq, both[1].seq], [2, 3]);
        assert!(!book.find_run("r1").unwrap().open);
        assert_eq!(book.ledger("stock").unwrap(), both[1..]);
        assert_eq!(book.verify_chain().unwrap().entries, 3);
    }

    #[test]
    fn neither_can_have_a_name_of_the_other() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        for name in [":people", "", ":"] {
            let ledger = book.append_to_ledger(name, 0, &[draft("1")]);
            let run = book.begin(name, "mill", &[], &[draft("1")]);
            for refused in [ledger, run] {
                assert!(
                    matches!(refused, Err(BookError::BadName { .. })),
                    "{refused:?}"
                );
            }
        }
    }

    #[test]
    fn a_changed_shortened_or_unlisted_ledger_is_detected() {
        let ledger = || Damage::Ledger {
            ledger: "people".into(),
        };
        for (change, damage) in [
            ("UPDATE entries SET body = 'x' WHERE seq = 1", None),
            ("DELETE FROM entries WHERE seq = 2", Some(ledger())),
            ("UPDATE ledgers SET entries = 3", Some(ledger())),
            ("UPDATE ledgers SET last_at = 'x'", Some(ledger())),
            ("DELETE FROM ledgers", Some(ledger())),
        ] {
            let (_folder, path) = new_path();
            let mut book = Book::open(&path).unwrap();
            book.append_to_ledger("people", 0, &[draft("1"), draft("2")])
                .unwrap();
            let plain = Connection::open(&path).unwrap();
            plain
                .execute_batch("DROP TRIGGER entries_stay; DROP TRIGGER entries_remain")
                .unwrap();
            plain.execute_batch(change).unwrap();
            let Err(BookError::Damaged { damage: found, .. }) = book.verify_chain() else {
                panic!("{change}")
            };
            if let Some(damage) = damage {
                assert_eq!(found, damage, "{change}");
            }
            let read = book.ledger("people");
            assert_eq!(read.is_ok(), change.contains("last_at"), "{change}");
        }
    }
}
