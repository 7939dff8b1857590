//! The book's tables, and the migration of a book of an older layout to the present one.
//!
//! `entries` and `documents` are the record. `runs` and `ledgers` are only indexes, so that listing and finding need
//! not read all entries. They can be computed from the entries, and [`super::Book::verify_chain`] does so.
//!
//! The triggers prevent accidents, not intent: anybody who can write the file can drop them. Only the chain reveals
//! intent. INSERT OR REPLACE bypasses UPDATE and DELETE triggers, because it removes the old row without running them.
//! The INSERT triggers prevent this, because a row that would replace another is never the next one. For the same
//! reason no other column of `entries` is unique (a REPLACE over it would remove a row), and `documents` has no hidden
//! row number.

use std::path::Path;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, TransactionBehavior};

use super::error::{BookError, at};
use super::migrations::MIGRATIONS;

/// "skim" in ASCII: the file's header says with it which program the file belongs to.
const APPLICATION_ID: u32 = 0x736b_696d;

/// The layout that this skimgate reads and writes.
const LAYOUT: u32 = 2;

/// What a file contains.
enum FileContent {
    /// An empty database: a new file, or one whose creation was interrupted.
    Nothing,
    /// A book of this layout.
    Book(u32),
    /// A database of another program.
    Foreign,
}

/// Prepares a connection for writing: settings first, then the missing migrations in one exclusive transaction.
pub(super) fn prepare(connection: &mut Connection, path: &Path) -> Result<(), BookError> {
    distrust(connection).map_err(at(path))?;
    if connection.is_readonly("main").map_err(at(path))? {
        return Err(BookError::ReadOnly {
            path: path.to_path_buf(),
        });
    }
    // This comes before any setting, because a database of another program must stay unchanged.
    if known(connection, path)? < LAYOUT {
        migrate(connection, path)?;
    }
    settle(connection).map_err(at(path))
}

/// Checks before reading that the file is a book. Changes nothing. A book of layout 1 is read like a present one
/// without ledgers.
pub(super) fn inspect(connection: &Connection, path: &Path) -> Result<(), BookError> {
    distrust(connection)
        .and_then(|()| connection.pragma_update(None, "query_only", true))
        .map_err(at(path))?;
    let path_of = || path.to_path_buf();
    match known(connection, path)? {
        0 => Err(BookError::Missing { path: path_of() }),
        _ => Ok(()),
    }
}

/// The book's layout, 0 for an empty file. It is an error if the file belongs to another program or is newer.
fn known(connection: &Connection, path: &Path) -> Result<u32, BookError> {
    let path_of = || path.to_path_buf();
    match found(connection).map_err(at(path))? {
        FileContent::Nothing => Ok(0),
        FileContent::Foreign => Err(BookError::NotABook { path: path_of() }),
        FileContent::Book(found) if found > LAYOUT => Err(BookError::Newer {
            path: path_of(),
            found,
            known: LAYOUT,
        }),
        FileContent::Book(layout) => Ok(layout),
    }
}

fn found(connection: &Connection) -> rusqlite::Result<FileContent> {
    // Read in one snapshot, because another process may create this book between two reads.
    let _snapshot = connection
        .is_autocommit()
        .then(|| connection.unchecked_transaction())
        .transpose()?;
    let pragma = |name| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let id = pragma("application_id")?;
    let layout = u32::try_from(pragma("user_version")?);
    let tables: u64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(match layout {
        Ok(0) if id == 0 && tables == 0 => FileContent::Nothing,
        Ok(layout) if id == i64::from(APPLICATION_ID) && layout > 0 => FileContent::Book(layout),
        _ => FileContent::Foreign,
    })
}

fn migrate(connection: &mut Connection, path: &Path) -> Result<(), BookError> {
    let transaction = connection
        .transaction_with_behavior(TransactionBehavior::Exclusive)
        .map_err(at(path))?;
    // Read again under the lock, because another process may have been faster.
    let mut layout = known(&transaction, path)?;
    for migration in MIGRATIONS.iter().skip(layout as usize) {
        transaction.execute_batch(migration).map_err(at(path))?;
        layout += 1;
    }
    transaction
        .pragma_update(None, "application_id", APPLICATION_ID)
        .and_then(|()| transaction.pragma_update(None, "user_version", layout))
        .and_then(|()| transaction.commit())
        .map_err(at(path))
}

/// Sets SQLite so that a tampered schema cannot run functions with side effects or write to SQLite's own tables.
fn distrust(connection: &Connection) -> rusqlite::Result<()> {
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    Ok(())
}

fn settle(connection: &Connection) -> rusqlite::Result<()> {
    connection.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(()))?;
    connection.pragma_update(None, "synchronous", "EXTRA")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::LAYOUT;
    use crate::book::migrations::MIGRATIONS;
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError};
    use crate::fingerprint::Fingerprint;
    use rusqlite::Connection;
    use std::path::PathBuf;
    use tempfile::TempDir;

    fn written() -> (TempDir, PathBuf) {
        let (folder, path) = new_path();
        let text = (Fingerprint::of("text"), "text");
        Book::open(&path)
            .unwrap()
            .begin("r1", "mill", &[text], &[draft("1"), draft("2")])
            .unwrap();
        (folder, path)
    }

    fn pragma(connection: &Connection, name: &str) -> String {
        connection
            .pragma_query_value(None, name, |row| row.get::<_, rusqlite::types::Value>(0))
            .map(|value| format!("{value:?}"))
            .unwrap()
    }

    #[test]
    fn there_is_a_migration_to_every_layout() {
        assert_eq!(MIGRATIONS.len(), LAYOUT as usize);
    }

    #[test]
    fn the_journal_settings_are_the_safe_ones() {
        let (_folder, path) = written();
        let book = Book::open(&path).unwrap();
        for (name, value) in [
            ("journal_mode", "Text(\"delete\")"),
            ("synchronous", "Integer(3)"),
            ("foreign_keys", "Integer(1)"),
            ("busy_timeout", "Integer(10000)"),
            ("application_id", "Integer(1936419181)"),
            ("user_version", "Integer(2)"),
        ] {
            assert_eq!(pragma(book.connection(), name), value, "{name}");
        }
    }

    /// A trigger refuses each of these on a plain connection without this program's settings, and nothing changes.
    #[test]
    fn triggers_refuse_every_way_to_rewrite() {
        let (_folder, path) = written();
        let before = Book::open(&path).unwrap().entries("r1").unwrap();
        let plain = Connection::open(&path).unwrap();
        let row = |verb: &str, seq: &str, n: &str, previous: &str| {
            format!(
                "{verb} INTO entries (seq, run, n, at, kind, version, body, opens, ends, previous, digest)
                 SELECT {seq}, run, {n}, at, kind, version, 'forged', NULL, 0, {previous}, digest
                 FROM entries WHERE seq = 2"
            )
        };
        let mut attempts = vec![
            "UPDATE entries SET body = 'forged' WHERE seq = 2".to_owned(),
            "UPDATE OR REPLACE entries SET seq = 1 WHERE seq = 2".to_owned(),
            "DELETE FROM entries WHERE seq = 2".to_owned(),
            "DELETE FROM entries".to_owned(),
            "UPDATE documents SET content = 'forged'".to_owned(),
            "DELETE FROM documents".to_owned(),
            "INSERT OR REPLACE INTO documents SELECT fingerprint, 'forged' FROM documents"
                .to_owned(),
            "INSERT INTO documents SELECT fingerprint, 'forged' FROM documents WHERE true
             ON CONFLICT DO UPDATE SET content = excluded.content"
                .to_owned(),
        ];
        for verb in ["INSERT", "INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE"] {
            attempts.push(row(verb, "2", "n", "previous"));
            // Each row is right except for its number: it replaces another row, or leaves a gap.
            attempts.push(row(verb, "2", "n + 1", "previous"));
            attempts.push(row(verb, "seq + 2", "n + 1", "printf('%064d', 0)"));
            attempts.push(row(verb, "seq + 1", "n", "digest"));
            attempts.push(row(verb, "seq + 2", "n + 1", "digest"));
            attempts.push(row(verb, "seq + 1", "n + 2", "digest"));
            attempts.push(row(verb, "seq + 1", "n + 1", "previous"));
            attempts.push(row(verb, "NULL", "n + 1", "digest"));
        }
        for attempt in attempts {
            let refusal = plain.execute(&attempt, []).unwrap_err().to_string();
            assert!(
                refusal.contains("never") || refusal.contains("must follow"),
                "{attempt}: {refusal}"
            );
        }
        let book = Book::open(&path).unwrap();
        assert_eq!(book.entries("r1").unwrap(), before);
        assert_eq!(book.document(Fingerprint::of("text")).unwrap(), "text");
        // The same statement succeeds when it is the next in order, which proves that the order was refused.
        assert_eq!(
            plain.execute(&row("INSERT", "seq + 1", "n + 1", "digest"), []),
            Ok(1)
        );
    }

    #[test]
    fn a_newer_layout_is_refused_and_not_changed() {
        let (_folder, path) = written();
        let plain = Connection::open(&path).unwrap();
        plain.pragma_update(None, "user_version", 9).unwrap();
        for refused in [Book::open(&path), Book::open_existing(&path)] {
            let error = refused.unwrap_err();
            assert!(
                matches!(
                    error,
                    BookError::Newer {
                        found: 9,
                        known: LAYOUT,
                        ..
                    }
                ),
                "{error}"
            );
            assert!(error.to_string().contains("newer skimgate"), "{error}");
        }
        assert_eq!(pragma(&plain, "user_version"), "Integer(9)");
    }

    #[test]
    fn files_that_are_no_book_are_refused_and_not_changed() {
        let folder = tempfile::tempdir().unwrap();
        let text = folder.path().join("text");
        std::fs::write(
            &text,
            "not a database, but longer than a header of one hundred bytes ".repeat(9),
        )
        .unwrap();
        let foreign = folder.path().join("foreign");
        Connection::open(&foreign)
            .unwrap()
            .execute_batch("CREATE TABLE t (x)")
            .unwrap();
        for path in [text, foreign] {
            let before = std::fs::read(&path).unwrap();
            for refused in [Book::open(&path), Book::open_existing(&path)] {
                let error = refused.unwrap_err();
                assert!(matches!(error, BookError::NotABook { .. }), "{error}");
            }
            assert_eq!(std::fs::read(&path).unwrap(), before);
        }
    }
}
