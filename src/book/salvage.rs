//! What can be trusted of a damaged book, and whether a book may be walked on.

use super::chain::ChainProgress;
use super::entry::Entry;
use super::error::{BookError, Damage, at};
use super::opening::Book;

/// An entry whose content is the one its digest was made over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IntactEntry {
    /// An entry whose own digest fits its content.
    pub entry: Entry,
    /// Whether everything before it in the book is sound too. Without that, only its own content is vouched for.
    pub chained: bool,
}

/// What is whole of one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IntactRun {
    /// Its sound entries, in the order of the book.
    pub entries: Vec<IntactEntry>,
    /// Places in the book of those of its entries that were changed.
    pub changed: Vec<u64>,
    /// How many rows of the book, of whichever run, hold no entry that can be read.
    pub unreadable: u64,
    /// The first thing that is wrong with the book, be it in this run or not.
    pub damage: Option<Damage>,
}

impl Book {
    /// Everything of `run` that is sound, also where the book is damaged. Changes nothing.
    ///
    /// # Errors
    /// Those of the disk; damage is no error here.
    pub fn salvage(&self, run: &str) -> Result<IntactRun, BookError> {
        let mut found = IntactRun {
            entries: Vec::new(),
            changed: Vec::new(),
            unreadable: 0,
            damage: None,
        };
        match self.gather(run, &mut found).map_err(at(self.path())) {
            Ok(()) => {}
            // SQLite cannot go on reading: what it gave so far is kept.
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

    /// Checks before a walk that the record can be gone on with: all of a book of at most `small` entries. Of a larger
    /// one only each open run, whose entries are what a walk rests on; the rest is for [`Book::verify_chain`].
    ///
    /// # Errors
    /// [`BookError::Damaged`] with the first thing that is wrong, and those of the disk.
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

    /// Two runs in turn: r1 at 1, 2 and 5, r2 at 3 and 4.
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
    fn what_is_whole_is_kept_before_and_after_a_changed_entry() {
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
        // The other run has nothing changed, but its entries follow from one that was.
        let (whole, changed, why) = salvaged(&path, "r2");
        assert_eq!(whole, [(3, false), (4, false)]);
        assert_eq!((changed, why), (vec![], damage()));
    }

    #[test]
    fn damage_outside_the_run_is_told_too() {
        let (_folder, path) = new_path();
        write(&path);
        change(&path, "UPDATE runs SET open = 0 WHERE run = 'r2'");
        let (whole, changed, why) = salvaged(&path, "r1");
        assert_eq!((whole.len(), changed), (3, vec![]));
        assert_eq!(why, Some(Damage::Run { run: "r2".into() }));
    }

    #[test]
    fn a_small_book_is_checked_whole_and_a_large_one_where_it_is_walked_on() {
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
