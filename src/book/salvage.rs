//! The entries of a damaged book that can still be trusted, and the check of a book before a walk.

use super::chain::ChainProgress;
use super::entry::Entry;
use super::error::{BookError, Damage, at};
use super::opening::Book;

/// An entry whose content matches its digest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IntactEntry {
    /// The entry.
    pub entry: Entry,
    /// Whether everything before it in the book is intact too. If not, only its own content is proven.
    pub chained: bool,
}

/// The intact part of one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IntactRun {
    /// The intact entries, in the order of the book.
    pub entries: Vec<IntactEntry>,
    /// The numbers in the book of the run's changed entries.
    pub changed: Vec<u64>,
    /// The number of rows in the book, of any run, that cannot be read as an entry.
    pub unreadable: u64,
    /// The first damage in the book, in this run or another.
    pub damage: Option<Damage>,
}

impl Book {
    /// All intact entries of `run`, even where the book is damaged. Changes nothing.
    ///
    /// # Errors
    /// Disk errors. Damage is not an error here.
    pub fn salvage(&self, run: &str) -> Result<IntactRun, BookError> {
        let mut found = IntactRun {
            entries: Vec::new(),
            changed: Vec::new(),
            unreadable: 0,
            damage: None,
        };
        match self.gather(run, &mut found).map_err(at(self.path())) {
            Ok(()) => {}
            // SQLite cannot read further; the entries read so far are returned.
            Err(BookError::Damaged { damage, .. }) => {
                found.damage.get_or_insert(damage);
            }
            Err(error) => return Err(error),
        }
        if found.damage.is_none() {
            match self.verify_chain() {
                Ok(_) => {}
                Err(BookError::Damaged { damage, .. }) => found.damage = Some(damage),
                Err(error) => return Err(error),
            }
        }
        Ok(found)
    }

    fn gather(&self, run: &str, found: &mut IntactRun) -> rusqlite::Result<()> {
        let columns = Entry::COLUMNS;
        let mut statement = self
            .connection()
            .prepare(&format!("SELECT {columns} FROM entries ORDER BY seq"))?;
        let mut rows = statement.query([])?;
        let mut walk = ChainProgress::new();
        while let Some(row) = rows.next()? {
            let entry = match Entry::from_row(row) {
                Ok(entry) => entry,
                Err(error) => {
                    found.unreadable += 1;
                    let detail = error.to_string();
                    found.damage.get_or_insert(Damage::File { detail });
                    continue;
                }
            };
            if found.damage.is_none() {
                found.damage = walk.step(entry.clone()).err();
            }
            if entry.run != run {
                continue;
            }
            if entry.digest == entry.expected_digest() {
                let chained = found.damage.is_none();
                found.entries.push(IntactEntry { entry, chained });
            } else {
                found.changed.push(entry.seq);
            }
        }
        Ok(())
    }

    /// Checks a book before a walk. A book of at most `small` entries is checked completely. In a larger one only the
    /// open runs are checked, because a walk depends on their entries; [`Book::verify_chain`] checks the rest.
    ///
    /// # Errors
    /// [`BookError::Damaged`] with the first damage, and disk errors.
    pub fn check_for_walking(&self, small: u64) -> Result<(), BookError> {
        let entries: u64 = self
            .connection()
            .query_row("SELECT coalesce(max(seq), 0) FROM entries", [], |row| {
                row.get(0)
            })
            .map_err(at(self.path()))?;
        if entries <= small {
            return self.verify_chain().map(|_| ());
        }
        self.open_runs()?
            .iter()
            .try_for_each(|run| self.entries(&run.run).map(|_| ()))
    }
}

#[cfg(test)]
mod tests {
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError, Damage, EntryFault};
    use rusqlite::Connection;
    use std::path::Path;

    /// Writes two runs with alternating entries: r1 has 1, 2 and 5, r2 has 3 and 4.
    fn write(path: &Path) {
        let mut book = Book::open(path).unwrap();
        book.begin("r1", "mill", &[], &[draft("1"), draft("2")])
            .unwrap();
        book.begin("r2", "router", &[], &[draft("3"), draft("4")])
            .unwrap();
        book.append("r1", 2, &[draft("5")], false).unwrap();
    }

    fn change(path: &Path, sql: &str) {
        let plain = Connection::open(path).unwrap();
        plain
            .execute_batch("DROP TRIGGER entries_stay; DROP TRIGGER entries_remain")
            .unwrap();
        plain.execute_batch(sql).unwrap();
    }

    fn salvaged(path: &Path, run: &str) -> (Vec<(u64, bool)>, Vec<u64>, Option<Damage>) {
        let salvage = Book::open_existing(path).unwrap().salvage(run).unwrap();
        let entries = salvage.entries.iter().map(|s| (s.entry.seq, s.chained));
        (entries.collect(), salvage.changed, salvage.damage)
    }

    #[test]
    fn intact_entries_are_found_before_and_after_a_changed_entry() {
        let (_folder, path) = new_path();
        write(&path);
        assert_eq!(
            salvaged(&path, "r1"),
            (vec![(1, true), (2, true), (5, true)], vec![], None)
        );
        change(&path, "UPDATE entries SET body = 'x' WHERE seq = 2");
        let damage = || {
            Some(Damage::Entry {
                seq: 2,
                fault: EntryFault::Content,
            })
        };
        let (whole, changed, why) = salvaged(&path, "r1");
        assert_eq!(whole, [(1, true), (5, false)]);
        assert_eq!((changed, why), (vec![2], damage()));
        // Nothing of the other run was changed, but its entries follow a changed one.
        let (whole, changed, why) = salvaged(&path, "r2");
        assert_eq!(whole, [(3, false), (4, false)]);
        assert_eq!((changed, why), (vec![], damage()));
    }

    #[test]
    fn damage_outside_the_run_is_reported_too() {
        let (_folder, path) = new_path();
        write(&path);
        change(&path, "UPDATE runs SET open = 0 WHERE run = 'r2'");
        let (whole, changed, why) = salvaged(&path, "r1");
        assert_eq!((whole.len(), changed), (3, vec![]));
        assert_eq!(why, Some(Damage::Run { run: "r2".into() }));
    }

    #[test]
    fn a_small_book_is_checked_completely_and_a_large_one_only_in_its_open_runs() {
        let (_folder, path) = new_path();
        write(&path);
        let mut book = Book::open(&path).unwrap();
        book.append("r2", 2, &[draft("6")], true).unwrap();
        book.check_for_walking(6).unwrap();
        change(&path, "UPDATE entries SET body = 'x' WHERE seq = 3");
        let book = Book::open(&path).unwrap();
        let error = book.check_for_walking(6).unwrap_err();
        assert!(matches!(error, BookError::Damaged { .. }), "{error}");
        book.check_for_walking(5).unwrap();
        change_again(&path);
        let error = book.check_for_walking(5).unwrap_err();
        assert!(matches!(error, BookError::Damaged { .. }), "{error}");
    }

    fn change_again(path: &Path) {
        let plain = Connection::open(path).unwrap();
        plain
            .execute_batch("UPDATE entries SET body = 'x' WHERE seq = 5")
            .unwrap();
    }
}
