//! Opening the book and writing to it.

use std::fs::{DirBuilder, OpenOptions};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{
    Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior, params,
};

use super::entry::{Draft, Entry};
use super::error::{BookError, Damage, at};
use super::schema;
use crate::fingerprint::Fingerprint;

/// How long to wait for another process to finish writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open book.
#[derive(Debug)]
pub struct Book {
    connection: Connection,
    path: PathBuf,
}

impl Book {
    /// Opens the book at `path` for writing; makes it, and its folder, where there is none. On Unix, what it makes is
    /// for its owner alone.
    ///
    /// # Errors
    /// Any of [`BookError::CannotMake`], [`BookError::CannotOpen`], [`BookError::ReadOnly`], [`BookError::NotABook`],
    /// [`BookError::Newer`], [`BookError::Locked`], and those of the disk.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, BookError> {
        Self::open_waiting(path.as_ref(), PATIENCE)
    }

    fn open_waiting(path: &Path, patience: Duration) -> Result<Self, BookError> {
        make(path)?;
        let mut book = Self::connect(path, patience)?;
        schema::prepare(&mut book.connection, path)?;
        Ok(book)
    }

    /// Opens the book at `path` for reading; writing to it fails with [`BookError::ReadOnly`].
    ///
    /// # Errors
    /// [`BookError::Missing`] where there is no book yet, [`BookError::Older`] where its layout must first be brought
    /// up to date, else as [`Book::open`].
    pub fn open_existing(path: impl AsRef<Path>) -> Result<Self, BookError> {
        let path = path.as_ref();
        // Where even that cannot be told, opening says why.
        if matches!(path.try_exists(), Ok(false)) {
            return Err(BookError::Missing {
                path: path.to_path_buf(),
            });
        }
        let book = Self::connect(path, PATIENCE)?;
        schema::inspect(&book.connection, path)?;
        Ok(book)
    }

    /// Always asks for write access, which SQLite gives up by itself where there is none: a reader, too, must be able
    /// to roll back what a power cut left half written. No URI flag: a name that begins with `file:` is a name.
    fn connect(path: &Path, patience: Duration) -> Result<Self, BookError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags).map_err(at(path))?;
        connection.busy_timeout(patience).map_err(at(path))?;
        let path = path.to_path_buf();
        Ok(Self { connection, path })
    }

    /// Where the book is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    pub(super) fn connection(&self) -> &Connection {
        &self.connection
    }

    /// Begins `run` on `machine`: keeps the documents it rests on and writes its first entries, all in one
    /// transaction. Returns the entries once they are on disk.
    ///
    /// # Errors
    /// [`BookError::MachineBusy`] when a run is open on the machine, [`BookError::RunExists`],
    /// [`BookError::NothingToWrite`] without drafts, [`BookError::WrongFingerprint`], and those of the disk.
    pub fn begin(
        &mut self,
        run: &str,
        machine: &str,
        documents: &[(Fingerprint, &str)],
        drafts: &[Draft],
    ) -> Result<Vec<Entry>, BookError> {
        let (Some(first), Some(last)) = (drafts.first(), drafts.last()) else {
            return Err(BookError::NothingToWrite {
                run: run.to_owned(),
            });
        };
        let path = self.path.as_path();
        let transaction = immediate(&mut self.connection, path)?;
        if let Some(open) = open_run(&transaction, machine).map_err(at(path))? {
            return Err(BookError::MachineBusy {
                machine: machine.to_owned(),
                run: open,
            });
        }
        if standing(&transaction, run).map_err(at(path))?.is_some() {
            return Err(BookError::RunExists {
                run: run.to_owned(),
            });
        }
        for (fingerprint, content) in documents {
            keep(&transaction, path, *fingerprint, content)?;
        }
        let tip = Tip::of(&transaction).map_err(at(path))?;
        transaction
            .execute(
                "INSERT INTO runs (first_seq, run, machine, first_at, last_at, entries, open)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, 1)",
                params![
                    tip.seq.saturating_add(1),
                    run,
                    machine,
                    first.at,
                    last.at,
                    drafts.len()
                ],
            )
            .map_err(at(path))?;
        let entries = tip.chain(run, 0, Some(machine), drafts, false);
        commit(transaction, path, entries)
    }

    /// Writes `drafts` to `run` after its entry `after_n`, in one transaction; the last of them ends the run if `ends`.
    /// Returns the entries once they are on disk.
    ///
    /// # Errors
    /// [`BookError::Overtaken`] when the run's last entry is not `after_n`, [`BookError::RunEnded`],
    /// [`BookError::NoSuchRun`], [`BookError::NothingToWrite`] when a run is to end without drafts, and those of the
    /// disk.
    pub fn append(
        &mut self,
        run: &str,
        after_n: u32,
        drafts: &[Draft],
        ends: bool,
    ) -> Result<Vec<Entry>, BookError> {
        let path = self.path.as_path();
        let transaction = immediate(&mut self.connection, path)?;
        let Some((found, open)) = standing(&transaction, run).map_err(at(path))? else {
            return Err(BookError::NoSuchRun {
                path: path.to_path_buf(),
                name: run.to_owned(),
            });
        };
        if found != after_n {
            return Err(BookError::Overtaken {
                run: run.to_owned(),
                seen: after_n,
                found,
            });
        }
        if !open {
            return Err(BookError::RunEnded {
                run: run.to_owned(),
            });
        }
        let Some(last) = drafts.last() else {
            return if ends {
                Err(BookError::NothingToWrite {
                    run: run.to_owned(),
                })
            } else {
                Ok(Vec::new())
            };
        };
        let tip = Tip::of(&transaction).map_err(at(path))?;
        let entries = tip.chain(run, after_n, None, drafts, ends);
        transaction
            .execute(
                "UPDATE runs SET last_at = ?2, entries = entries + ?3, open = ?4 WHERE run = ?1",
                params![run, last.at, drafts.len(), !ends],
            )
            .map_err(at(path))?;
        commit(transaction, path, entries)
    }
}

/// The last entry of the book.
struct Tip {
    seq: u64,
    digest: Fingerprint,
}

impl Tip {
    fn of(transaction: &Transaction<'_>) -> rusqlite::Result<Self> {
        let last = transaction
            .prepare_cached("SELECT seq, digest FROM entries ORDER BY seq DESC LIMIT 1")?
            .query_row([], |row| {
                Ok(Self {
                    seq: row.get(0)?,
                    digest: row.get(1)?,
                })
            })
            .optional()?;
        Ok(last.unwrap_or(Self {
            seq: 0,
            digest: Fingerprint::NONE,
        }))
    }

    /// The entries that `drafts` become after this one. Numbers that would run over stop short of that; the INSERT
    /// trigger then refuses them.
    fn chain(
        self,
        run: &str,
        after_n: u32,
        opens: Option<&str>,
        drafts: &[Draft],
        ends: bool,
    ) -> Vec<Entry> {
        let mut entries: Vec<Entry> = Vec::with_capacity(drafts.len());
        let (mut seq, mut n, mut previous) = (self.seq, after_n, self.digest);
        for (index, draft) in drafts.iter().enumerate() {
            seq = seq.saturating_add(1);
            n = n.saturating_add(1);
            let mut entry = Entry {
                seq,
                run: run.to_owned(),
                n,
                at: draft.at.clone(),
                kind: draft.kind.clone(),
                version: draft.version,
                body: draft.body.clone(),
                opens: opens.filter(|_| index == 0).map(str::to_owned),
                ends: ends && index + 1 == drafts.len(),
                previous,
                digest: Fingerprint::NONE,
            };
            entry.digest = entry.expected_digest();
            previous = entry.digest;
            entries.push(entry);
        }
        entries
    }
}

fn immediate<'c>(
    connection: &'c mut Connection,
    path: &Path,
) -> Result<Transaction<'c>, BookError> {
    connection
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(at(path))
}

fn commit(
    transaction: Transaction<'_>,
    path: &Path,
    entries: Vec<Entry>,
) -> Result<Vec<Entry>, BookError> {
    entries
        .iter()
        .try_for_each(|entry| entry.insert(&transaction))
        .and_then(|()| transaction.commit())
        .map_err(at(path))?;
    Ok(entries)
}

fn open_run(transaction: &Transaction<'_>, machine: &str) -> rusqlite::Result<Option<String>> {
    transaction
        .query_row(
            "SELECT run FROM runs WHERE machine = ?1 AND open = 1",
            [machine],
            |row| row.get(0),
        )
        .optional()
}

/// The run's last entry and whether it is open.
fn standing(transaction: &Transaction<'_>, run: &str) -> rusqlite::Result<Option<(u32, bool)>> {
    transaction
        .prepare_cached("SELECT entries, open FROM runs WHERE run = ?1")?
        .query_row([run], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()
}

fn keep(
    transaction: &Transaction<'_>,
    path: &Path,
    fingerprint: Fingerprint,
    content: &str,
) -> Result<(), BookError> {
    let own = Fingerprint::of(content);
    if own != fingerprint {
        return Err(BookError::WrongFingerprint { fingerprint, own });
    }
    let kept: Option<String> = transaction
        .query_row(
            "SELECT content FROM documents WHERE fingerprint = ?1",
            [fingerprint],
            |row| row.get(0),
        )
        .optional()
        .map_err(at(path))?;
    match kept {
        Some(kept) if kept == content => Ok(()),
        Some(_) => {
            let damage = Damage::Document {
                fingerprint: fingerprint.to_string(),
            };
            Err(BookError::Damaged {
                path: path.to_path_buf(),
                damage,
            })
        }
        None => transaction
            .execute(
                "INSERT INTO documents (fingerprint, content) VALUES (?1, ?2)",
                params![fingerprint, content],
            )
            .map(drop)
            .map_err(at(path)),
    }
}

/// Makes the book's folder and an empty file for SQLite to fill, so that the file's mode is right from the start.
fn make(path: &Path) -> Result<(), BookError> {
    let cannot = |path: &Path| {
        let path = path.to_path_buf();
        move |source| BookError::CannotMake { path, source }
    };
    if let Some(folder) = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
    {
        make_folder(folder).map_err(cannot(folder))?;
    }
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(cannot(path)(error)),
    }
}

/// Makes a folder and those above it, as far as there are none; on Unix what it makes is for its owner alone.
pub(super) fn make_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

#[cfg(test)]
mod tests {
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError, Entry};
    use crate::fingerprint::Fingerprint;
    use rusqlite::Connection;
    use std::time::Duration;

    #[test]
    fn what_was_written_is_there_after_opening_again() {
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

        let told = |entry: &Entry| {
            (
                entry.seq,
                entry.n,
                entry.body.clone(),
                entry.opens.clone(),
                entry.ends,
            )
        };
        assert_eq!(
            read.iter().map(told).collect::<Vec<_>>(),
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

    /// Four terminals write to one run at once; each goes on from where the last one got.
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
    fn opening_at_once_makes_one_book() {
        let (_folder, path) = new_path();
        std::thread::scope(|scope| {
            for machine in ["a", "b", "c", "d"] {
                let path = &path;
                scope.spawn(move || {
                    let mut book = Book::open(path).unwrap();
                    book.begin(machine, machine, &[], &[draft("1")]).unwrap();
                });
            }
        });
        assert_eq!(
            Book::open_existing(&path)
                .unwrap()
                .verify_chain()
                .unwrap()
                .entries,
            4
        );
    }

    #[test]
    fn reading_makes_nothing() {
        let (folder, path) = new_path();
        let error = Book::open_existing(&path).unwrap_err();
        assert!(matches!(error, BookError::Missing { .. }), "{error}");
        // An empty file is what is left when the power fails while a book is made.
        std::fs::write(&path, "").unwrap();
        let error = Book::open_existing(&path).unwrap_err();
        assert!(matches!(error, BookError::Missing { .. }), "{error}");
        assert_eq!(std::fs::metadata(&path).unwrap().len(), 0);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        Book::open(&path).unwrap();
        Book::open_existing(&path).unwrap();
    }

    #[test]
    fn a_book_opened_for_reading_takes_no_entries() {
        let (_folder, path) = new_path();
        Book::open(&path).unwrap();
        let error = Book::open_existing(&path)
            .unwrap()
            .begin("r1", "mill", &[], &[draft("1")])
            .unwrap_err();
        assert!(matches!(error, BookError::ReadOnly { .. }), "{error}");
        assert!(
            error.to_string().contains(&path.display().to_string()),
            "{error}"
        );
    }

    #[test]
    fn another_process_writing_is_waited_for_and_then_named() {
        let (_folder, path) = new_path();
        Book::open(&path).unwrap();
        let mut book = Book::open_waiting(&path, Duration::from_millis(20)).unwrap();
        let other = Connection::open(&path).unwrap();
        other.execute_batch("BEGIN EXCLUSIVE").unwrap();
        let error = book.begin("r1", "mill", &[], &[draft("1")]).unwrap_err();
        assert!(matches!(error, BookError::Locked { .. }), "{error}");
        other.execute_batch("ROLLBACK").unwrap();
        book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
    }

    #[test]
    fn a_full_disk_is_named_and_costs_nothing() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
        let before = book.verify_chain().unwrap();
        // SQLite's own ceiling gives the same answer as a disk without room.
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

    #[test]
    fn places_where_no_book_can_be_are_named() {
        let (folder, path) = new_path();
        std::fs::write(folder.path().join("file"), "").unwrap();
        let error = Book::open(folder.path().join("file").join("book.sqlite3")).unwrap_err();
        assert!(matches!(error, BookError::CannotMake { .. }), "{error}");
        std::fs::create_dir(&path).unwrap();
        let error = Book::open(&path).unwrap_err();
        assert!(matches!(error, BookError::CannotOpen { .. }), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn what_it_makes_is_for_the_owner_alone() {
        use std::os::unix::fs::PermissionsExt;
        let (folder, _) = new_path();
        let path = folder.path().join("a").join("b").join("book.sqlite3");
        let book = Book::open(&path).unwrap();
        let _claim = book.claim("mill", "now").unwrap();
        let mode =
            |path: &std::path::Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&path), 0o600);
        assert_eq!(mode(&folder.path().join("a")), 0o700);
        assert_eq!(mode(&folder.path().join("a/b")), 0o700);
        assert_eq!(mode(&folder.path().join("a/b/book.sqlite3.claims")), 0o700);
    }

    /// Where the user may write everywhere regardless of modes, the modes are no obstacle, and that is what is checked.
    #[cfg(unix)]
    #[test]
    fn a_read_only_folder_or_file_is_named() {
        use std::fs::{Permissions, set_permissions};
        use std::os::unix::fs::PermissionsExt;
        let (folder, path) = new_path();
        Book::open(&path).unwrap();
        let all_powerful = {
            set_permissions(folder.path(), Permissions::from_mode(0o500)).unwrap();
            std::fs::write(folder.path().join("probe"), "").is_ok()
        };
        let new = Book::open(folder.path().join("new.sqlite3"));
        let begun =
            Book::open(&path).and_then(|mut book| book.begin("r1", "mill", &[], &[draft("1")]));
        set_permissions(folder.path(), Permissions::from_mode(0o700)).unwrap();
        set_permissions(&path, Permissions::from_mode(0o400)).unwrap();
        let opened = Book::open(&path);
        let read = Book::open_existing(&path).and_then(|book| book.verify_chain());
        assert!(read.is_ok(), "{read:?}");
        if all_powerful {
            assert!(new.is_ok() && begun.is_ok() && opened.is_ok());
        } else {
            assert!(matches!(new, Err(BookError::CannotMake { .. })), "{new:?}");
            assert!(
                matches!(begun, Err(BookError::ReadOnly { .. })),
                "{begun:?}"
            );
            assert!(
                matches!(opened, Err(BookError::ReadOnly { .. })),
                "{opened:?}"
            );
        }
    }
}
