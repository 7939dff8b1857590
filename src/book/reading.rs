//! Reading the book.

use rusqlite::{OptionalExtension, Row};

use super::entry::Entry;
use super::error::{BookError, Damage, EntryFault, at};
use super::opening::Book;
use crate::fingerprint::Fingerprint;

/// How many runs [`BookError::ManyRuns`] names.
const NAMED: usize = 5;

/// A row of the list of runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunSummary {
    /// The run's name.
    pub run: String,
    /// The machine's id in the shop file.
    pub machine: String,
    /// When its first entry was made, RFC 3339 in UTC.
    pub first_at: String,
    /// When its last entry was made, RFC 3339 in UTC.
    pub last_at: String,
    /// The number of entries.
    pub entries: u32,
    /// Whether the run has not ended.
    pub open: bool,
}

impl RunSummary {
    pub(super) const COLUMNS: &str = "run, machine, first_at, last_at, entries, open";

    pub(super) fn from_row(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            run: row.get(0)?,
            machine: row.get(1)?,
            first_at: row.get(2)?,
            last_at: row.get(3)?,
            entries: row.get(4)?,
            open: row.get(5)?,
        })
    }
}

impl Book {
    /// All runs, in the order in which they began.
    ///
    /// # Errors
    /// Disk errors; [`BookError::Damaged`] where a value cannot be read.
    pub fn runs(&self) -> Result<Vec<RunSummary>, BookError> {
        self.summaries("1 = 1")
    }

    /// The open runs in the order in which they began, at most one for each machine.
    ///
    /// # Errors
    /// As [`Book::runs`].
    pub fn open_runs(&self) -> Result<Vec<RunSummary>, BookError> {
        self.summaries("open = 1")
    }

    /// The runs with an entry at `at` or later, in the order in which they began. `at` is in its stored form.
    ///
    /// # Errors
    /// As [`Book::runs`].
    pub(crate) fn runs_since(&self, at: &str) -> Result<Vec<RunSummary>, BookError> {
        let mut runs = self.runs()?;
        runs.retain(|run| run.last_at.as_str() >= at);
        Ok(runs)
    }

    /// The times of the entries from number `seq` on, of any run or ledger, in their order; each with its number.
    ///
    /// # Errors
    /// Disk errors; [`BookError::Damaged`] where a value cannot be read.
    pub(crate) fn times_from(&self, seq: u64) -> Result<Vec<(u64, String)>, BookError> {
        self.connection()
            .prepare_cached("SELECT seq, at FROM entries WHERE seq >= ?1 ORDER BY seq")
            .and_then(|mut statement| {
                statement
                    .query_map([seq], |row| Ok((row.get(0)?, row.get(1)?)))?
                    .collect()
            })
            .map_err(at(self.path()))
    }

    /// The number of the last entry that belongs to another run than this one, or to a ledger; 0 for none.
    ///
    /// # Errors
    /// As [`Book::times_from`].
    pub(crate) fn last_of_others(&self, run: &str) -> Result<u64, BookError> {
        self.connection()
            .query_row(
                "SELECT seq FROM entries WHERE run <> ?1 ORDER BY seq DESC LIMIT 1",
                [run],
                |row| row.get(0),
            )
            .optional()
            .map(Option::unwrap_or_default)
            .map_err(at(self.path()))
    }

    fn summaries(&self, condition: &str) -> Result<Vec<RunSummary>, BookError> {
        let columns = RunSummary::COLUMNS;
        let sql = format!("SELECT {columns} FROM runs WHERE {condition} ORDER BY first_seq");
        self.connection()
            .prepare(&sql)
            .and_then(|mut statement| statement.query_map([], RunSummary::from_row)?.collect())
            .map_err(at(self.path()))
    }

    /// The run with the name `prefix`, or else the only run whose name begins with it.
    ///
    /// # Errors
    /// [`BookError::NoSuchRun`] (always for an empty prefix), [`BookError::ManyRuns`], and disk errors.
    pub fn find_run(&self, prefix: &str) -> Result<RunSummary, BookError> {
        let none = || BookError::NoSuchRun {
            path: self.path().to_path_buf(),
            name: prefix.to_owned(),
        };
        if prefix.is_empty() {
            return Err(none());
        }
        let columns = RunSummary::COLUMNS;
        // Names sort by their bytes, so those with the prefix are neighbours and an exact match is first.
        let sql = format!("SELECT {columns} FROM runs WHERE run >= ?1 ORDER BY run LIMIT ?2");
        let mut found: Vec<RunSummary> = self
            .connection()
            .prepare(&sql)
            .and_then(|mut statement| {
                statement
                    .query_map((prefix, NAMED + 1), RunSummary::from_row)?
                    .collect()
            })
            .map_err(at(self.path()))?;
        found.retain(|summary| summary.run.starts_with(prefix));
        if found.len() > 1 && found.first().is_some_and(|first| first.run != prefix) {
            return Err(BookError::ManyRuns {
                prefix: prefix.to_owned(),
                more: found.len() > NAMED,
                runs: found
                    .into_iter()
                    .take(NAMED)
                    .map(|summary| summary.run)
                    .collect(),
            });
        }
        found.into_iter().next().ok_or_else(none)
    }

    /// The run's entries in order, each checked against its digest and all against the run's summary. Only
    /// [`Book::verify_chain`] checks their links to the entries of other runs.
    ///
    /// # Errors
    /// [`BookError::NoSuchRun`], [`BookError::Damaged`], and disk errors.
    pub fn entries(&self, run: &str) -> Result<Vec<Entry>, BookError> {
        let columns = Entry::COLUMNS;
        let sql = format!("SELECT {columns} FROM entries WHERE run = ?1 ORDER BY n");
        let read = || -> rusqlite::Result<(Vec<Entry>, Option<u32>)> {
            // Read in one snapshot, because an append between two reads would look like damage.
            let snapshot = self.connection().unchecked_transaction()?;
            let entries = snapshot
                .prepare_cached(&sql)?
                .query_map([run], Entry::from_row)?
                .collect::<Result<_, _>>()?;
            let listed = snapshot
                .query_row("SELECT entries FROM runs WHERE run = ?1", [run], |row| {
                    row.get(0)
                })
                .optional()?;
            Ok((entries, listed))
        };
        let (entries, listed) = read().map_err(at(self.path()))?;
        let damaged = |damage| BookError::Damaged {
            path: self.path().to_path_buf(),
            damage,
        };
        let Some(listed) = listed else {
            return Err(if entries.is_empty() {
                BookError::NoSuchRun {
                    path: self.path().to_path_buf(),
                    name: run.to_owned(),
                }
            } else {
                damaged(Damage::Run {
                    run: run.to_owned(),
                })
            });
        };
        for (entry, expected) in entries.iter().zip(1..) {
            let seq = entry.seq;
            if entry.n != expected {
                return Err(damaged(Damage::Entry {
                    seq,
                    fault: EntryFault::Place { expected },
                }));
            }
            if entry.digest != entry.expected_digest() {
                return Err(damaged(Damage::Entry {
                    seq,
                    fault: EntryFault::Content,
                }));
            }
        }
        if u32::try_from(entries.len()) != Ok(listed) {
            return Err(damaged(Damage::Run {
                run: run.to_owned(),
            }));
        }
        Ok(entries)
    }

    /// The entries of all runs that are of one of these kinds and of a version below the one given with the kind, in
    /// order, each checked against its digest.
    ///
    /// # Errors
    /// [`BookError::Damaged`], and disk errors.
    pub(crate) fn entries_of(&self, kinds: &[(&str, u32)]) -> Result<Vec<Entry>, BookError> {
        let columns = Entry::COLUMNS;
        let sql = format!("SELECT {columns} FROM entries WHERE kind = ?1 AND version < ?2");
        let read = || -> rusqlite::Result<Vec<Entry>> {
            let snapshot = self.connection().unchecked_transaction()?;
            let mut statement = snapshot.prepare_cached(&sql)?;
            let mut entries = Vec::new();
            for kind in kinds {
                for entry in statement.query_map(*kind, Entry::from_row)? {
                    entries.push(entry?);
                }
            }
            Ok(entries)
        };
        let mut entries = read().map_err(at(self.path()))?;
        entries.retain(|entry| entry.ledger().is_none());
        entries.sort_by_key(|entry| entry.seq);
        match entries.iter().find(|e| e.digest != e.expected_digest()) {
            None => Ok(entries),
            Some(entry) => Err(BookError::Damaged {
                path: self.path().to_path_buf(),
                damage: Damage::Entry {
                    seq: entry.seq,
                    fault: EntryFault::Content,
                },
            }),
        }
    }

    /// The number of the book's last entry; 0 while it has none.
    pub(super) fn last_seq(&self) -> Result<u64, BookError> {
        self.connection()
            .query_row("SELECT coalesce(max(seq), 0) FROM entries", [], |row| {
                row.get(0)
            })
            .map_err(at(self.path()))
    }

    /// The latest time among the entries after number `seq`, of any run or ledger, in its stored form.
    ///
    /// # Errors
    /// Disk errors; [`BookError::Damaged`] where it cannot be read.
    pub(crate) fn latest_after(&self, seq: u64) -> Result<Option<String>, BookError> {
        self.connection()
            .query_row("SELECT max(at) FROM entries WHERE seq > ?1", [seq], |row| {
                row.get(0)
            })
            .map_err(at(self.path()))
    }

    /// The digest of the book's last entry; [`Fingerprint::NONE`] while it has none. If it is written down elsewhere,
    /// it shows later whether the book was shortened or rewritten.
    ///
    /// # Errors
    /// Disk errors; [`BookError::Damaged`] where it cannot be read.
    pub fn last_digest(&self) -> Result<Fingerprint, BookError> {
        self.connection()
            .query_row(
                "SELECT digest FROM entries ORDER BY seq DESC LIMIT 1",
                [],
                |row| row.get(0),
            )
            .optional()
            .map(|digest| digest.unwrap_or(Fingerprint::NONE))
            .map_err(at(self.path()))
    }
}

#[cfg(test)]
mod tests {
    use super::RunSummary;
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError, Damage, EntryFault};
    use crate::fingerprint::Fingerprint;
    use rusqlite::Connection;

    #[test]
    fn runs_are_listed_in_the_order_they_began() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        assert_eq!(book.runs().unwrap(), []);
        book.begin("z", "mill", &[], &[draft("1"), draft("2")])
            .unwrap();
        book.begin("a", "router", &[], &[draft("1")]).unwrap();
        let mut late = draft("3");
        late.at = "2026-03-02T00:00:00.000Z".into();
        book.append("z", 2, &[late], true).unwrap();
        let first = "2026-03-01T13:32:05.250Z";
        let z = RunSummary {
            run: "z".into(),
            machine: "mill".into(),
            first_at: first.into(),
            last_at: "2026-03-02T00:00:00.000Z".into(),
            entries: 3,
            open: false,
        };
        let a = RunSummary {
            run: "a".into(),
            machine: "router".into(),
            first_at: first.into(),
            last_at: first.into(),
            entries: 1,
            open: true,
        };
        assert_eq!(book.runs().unwrap(), [z, a.clone()]);
        assert_eq!(book.open_runs().unwrap(), [a]);
    }

    #[test]
    fn a_run_is_found_by_the_beginning_of_its_name() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        for run in ["m1", "m10", "m11", "x%", "x_y", "m12", "m13", "m14", "m15"] {
            book.begin(run, run, &[], &[draft("1")]).unwrap();
        }
        let found = |prefix| book.find_run(prefix).map(|summary| summary.run);
        assert_eq!(found("m10").unwrap(), "m10");
        assert_eq!(found("m1").unwrap(), "m1");
        assert_eq!(found("x_").unwrap(), "x_y");
        for unknown in ["", "m2", "x%y", "M1", "%"] {
            let error = found(unknown).unwrap_err();
            assert!(matches!(error, BookError::NoSuchRun { .. }), "{error}");
        }
        let few = found("x").unwrap_err().to_string();
        assert_eq!(few, "several runs begin with `x`: x%, x_y; type more of it");
        let many = found("m").unwrap_err().to_string();
        assert_eq!(
            many,
            "several runs begin with `m`: m1, m10, m11, m12, m13 and more; type more of it"
        );
    }

    #[test]
    fn unknown_runs_and_documents_are_reported_by_name() {
        let (_folder, path) = new_path();
        let book = Book::open(&path).unwrap();
        let error = book.entries("r1").unwrap_err();
        assert!(matches!(error, BookError::NoSuchRun { .. }), "{error}");
        let error = book.document(Fingerprint::of("text")).unwrap_err();
        assert!(matches!(error, BookError::NoSuchDocument { .. }), "{error}");
    }

    #[test]
    fn reading_detects_a_changed_or_missing_entry_of_the_run() {
        for (change, damage) in [
            (
                "UPDATE entries SET body = 'x' WHERE n = 2",
                Damage::Entry {
                    seq: 2,
                    fault: EntryFault::Content,
                },
            ),
            (
                "DELETE FROM entries WHERE n = 2",
                Damage::Entry {
                    seq: 3,
                    fault: EntryFault::Place { expected: 2 },
                },
            ),
            (
                "DELETE FROM entries WHERE n = 3",
                Damage::Run { run: "r1".into() },
            ),
        ] {
            let (_folder, path) = new_path();
            let mut book = Book::open(&path).unwrap();
            book.begin("r1", "mill", &[], &[draft("1"), draft("2"), draft("3")])
                .unwrap();
            let plain = Connection::open(&path).unwrap();
            plain
                .execute_batch("DROP TRIGGER entries_stay; DROP TRIGGER entries_remain")
                .unwrap();
            plain.execute_batch(change).unwrap();
            let error = book.entries("r1").unwrap_err();
            let BookError::Damaged { damage: found, .. } = error else {
                panic!("{error}")
            };
            assert_eq!(found, damage, "{change}");
        }
    }
}
