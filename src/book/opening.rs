//! Opening the book.

use std::fs::OpenOptions;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::error::{BookError, at};
use super::presence::Presence;
use super::schema;
use crate::files::{make_private, make_private_folder};

/// Held while a file is created. The handle that creates it must be closed before any thread of this process opens the
/// book: closing it later would release that thread's locks (see the module documentation of `book`).
static MAKING: Mutex<()> = Mutex::new(());

/// The longest wait for another process to finish writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open book.
#[derive(Debug)]
pub struct Book {
    connection: Connection,
    path: PathBuf,
    presence: Presence,
}

impl Book {
    /// Opens the book at `path` for writing. Creates it, and its folder, where there is none. On Unix only the owner
    /// can read what it creates, and an existing file that others can read is made private.
    ///
    /// # Errors
    /// Any of [`BookError::CannotMake`], [`BookError::CannotOpen`], [`BookError::ReadOnly`], [`BookError::NotABook`],
    /// [`BookError::Newer`], [`BookError::Locked`], and disk errors.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, BookError> {
        Self::open_waiting(path.as_ref(), PATIENCE)
    }

    fn open_waiting(path: &Path, patience: Duration) -> Result<Self, BookError> {
        make(path)?;
        let path = &location(path);
        one_name(path)?;
        // The file may have been created with wider rights or copied here. If it belongs to another user, only that
        // user can change this.
        let _ = make_private(path);
        let mut book = Self::connect(path, patience)?;
        schema::prepare(&mut book.connection, path)?;
        Ok(book)
    }

    /// Opens the book at `path` for reading; writing to it fails with [`BookError::ReadOnly`].
    ///
    /// # Errors
    /// [`BookError::Missing`] where there is no book yet, otherwise as [`Book::open`]. A book of an older layout is
    /// read as it is.
    pub fn open_existing(path: impl AsRef<Path>) -> Result<Self, BookError> {
        let path = path.as_ref();
        // If this check itself fails, the error comes from opening below.
        if matches!(path.try_exists(), Ok(false)) {
            return Err(BookError::Missing {
                path: path.to_path_buf(),
            });
        }
        let path = &location(path);
        one_name(path)?;
        let book = Self::connect(path, PATIENCE)?;
        schema::inspect(&book.connection, path)?;
        Ok(book)
    }

    /// Always asks for write access, because a reader too must be able to roll back what a power cut left half written.
    /// SQLite falls back to read-only by itself. The URI flag is not set, so a name that begins with `file:` is an
    /// ordinary name.
    fn connect(path: &Path, patience: Duration) -> Result<Self, BookError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags).map_err(at(path))?;
        connection.busy_timeout(patience).map_err(at(path))?;
        Ok(Self {
            connection,
            path: path.to_path_buf(),
            presence: Presence::of(path),
        })
    }

    /// The path of the book: its [`location`], not the name that it was opened by.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    pub(super) fn connection(&self) -> &Connection {
        &self.connection
    }

    /// The connection for a transaction that writes, and the path for its errors. It is an error if the file is no
    /// longer the one that was opened.
    pub(super) fn parts(&mut self) -> Result<(&mut Connection, &Path), BookError> {
        self.presence.check()?;
        Ok((&mut self.connection, &self.path))
    }
}

/// The path of the file itself, with symbolic links resolved. Claims, keys and the practice book are next to this path,
/// so every symbolic link to the book finds the same ones. Where there is no file yet, the path of its folder is
/// resolved.
pub fn location(path: &Path) -> PathBuf {
    if cfg!(not(unix)) {
        // On other systems the result would be a form of path that other programs do not read.
        return path.to_path_buf();
    }
    if let Ok(real) = path.canonicalize() {
        return real;
    }
    let folder = path.parent().map(|folder| {
        if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            folder
        }
    });
    match (folder.map(Path::canonicalize), path.file_name()) {
        (Some(Ok(folder)), Some(name)) => folder.join(name),
        _ => path.to_path_buf(),
    }
}

/// Refuses a file that is not regular, and a file with a second hard link: the claims and keys are next to one of its
/// names, but which one is not known, so two terminals could hold one machine.
#[cfg(unix)]
fn one_name(path: &Path) -> Result<(), BookError> {
    use std::os::unix::fs::MetadataExt;
    match std::fs::metadata(path) {
        // Opening a pipe could block for ever.
        Ok(found) if !found.is_file() => Err(BookError::CannotOpen {
            path: path.to_path_buf(),
            detail: "it is not a regular file".to_owned(),
        }),
        Ok(found) if found.nlink() > 1 => Err(BookError::Linked {
            path: path.to_path_buf(),
            names: found.nlink(),
            file: found.ino(),
        }),
        _ => Ok(()),
    }
}

#[cfg(not(unix))]
fn one_name(_: &Path) -> Result<(), BookError> {
    Ok(())
}

/// Creates the book's folder and an empty file for SQLite to fill, so that the file's mode is right from the start.
fn make(path: &Path) -> Result<(), BookError> {
    let cannot = |path: &Path| {
        let path = path.to_path_buf();
        move |source| BookError::CannotMake { path, source }
    };
    if let Some(folder) = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
    {
        make_private_folder(folder).map_err(cannot(folder))?;
    }
    let _making = MAKING.lock().unwrap_or_else(PoisonError::into_inner);
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

#[cfg(test)]
mod tests {
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError};
    use rusqlite::Connection;
    use std::time::Duration;

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
    fn reading_creates_nothing() {
        let (folder, path) = new_path();
        let error = Book::open_existing(&path).unwrap_err();
        assert!(matches!(error, BookError::Missing { .. }), "{error}");
        // A power cut during the creation of a book leaves an empty file.
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
    fn opening_waits_for_another_writer_and_then_reports_it() {
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
    fn paths_where_no_book_can_be_are_reported() {
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
    fn every_symbolic_link_leads_to_the_same_claims() {
        use crate::book::location;
        use std::os::unix::fs::symlink;
        let (folder, path) = new_path();
        let (name, other) = (folder.path().join("name"), folder.path().join("other"));
        symlink(folder.path(), &other).unwrap();
        assert_eq!(location(&other.join("book.sqlite3")), path);
        let book = Book::open(other.join("book.sqlite3")).unwrap();
        symlink("book.sqlite3", &name).unwrap();
        let _claim = book.claim("mill", "then").unwrap();
        for way in [&name, &other.join("name"), &path] {
            let book = Book::open(way).unwrap();
            assert_eq!(book.path(), path);
            assert!(book.is_claimed("mill").unwrap());
            let error = book.claim("mill", "now").unwrap_err();
            assert!(matches!(error, BookError::Held { .. }), "{error}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_book_with_a_second_hard_link_is_refused_by_both_names_until_one_is_left() {
        let (folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
        let other = folder.path().join("other");
        std::fs::hard_link(&path, &other).unwrap();
        for name in [&path, &other] {
            for opened in [Book::open(name), Book::open_existing(name)] {
                let error = opened.unwrap_err();
                assert!(
                    matches!(error, BookError::Linked { names: 2, .. }),
                    "{error}"
                );
                assert!(error.to_string().contains(&name.display().to_string()));
            }
        }
        std::fs::remove_file(&path).unwrap();
        // The book that was opened by the removed name can no longer write; the remaining name is now the book's path.
        let error = book.append("r1", 1, &[draft("2")], false).unwrap_err();
        assert!(matches!(error, BookError::Vanished { .. }), "{error}");
        Book::open(&other).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn only_the_owner_can_read_what_it_creates() {
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

    #[cfg(unix)]
    #[test]
    fn a_book_that_others_can_read_is_made_private_when_opened_for_writing() {
        use std::fs::{Permissions, metadata, set_permissions};
        use std::os::unix::fs::PermissionsExt;
        let (_folder, path) = new_path();
        drop(Book::open(&path).unwrap());
        let mode = || metadata(&path).unwrap().permissions().mode() & 0o777;
        for (loose, tight) in [(0o644, 0o600), (0o666, 0o600), (0o640, 0o600)] {
            set_permissions(&path, Permissions::from_mode(loose)).unwrap();
            drop(Book::open_existing(&path).unwrap());
            assert_eq!(mode(), loose);
            drop(Book::open(&path).unwrap());
            assert_eq!(mode(), tight);
        }
    }

    /// If the user may write everywhere regardless of modes, the test checks that writing works.
    #[cfg(unix)]
    #[test]
    fn a_read_only_folder_or_file_is_reported() {
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
