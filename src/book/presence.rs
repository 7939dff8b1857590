//! Checks whether the book's file is still where it was opened.
//!
//! On Unix an open file that was moved or removed can still be written to: SQLite would continue without an error, and
//! an answer would be recorded where nobody finds it. So each write checks first. The check reads the file's metadata
//! and does not open the file, because closing a second handle would release SQLite's locks.

use std::path::{Path, PathBuf};

use super::error::BookError;

/// The identity of the book's file.
#[derive(Debug)]
pub(super) struct Presence {
    path: PathBuf,
    file: Option<Identity>,
}

#[cfg(unix)]
type Identity = (u64, u64);
/// On other systems an open file cannot be removed, so it is enough that a file exists.
#[cfg(not(unix))]
type Identity = ();

impl Presence {
    pub(super) fn of(path: &Path) -> Self {
        // A relative path must keep its meaning if the working folder changes.
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
        let file = identity(&path);
        Self { path, file }
    }

    pub(super) fn check(&self) -> Result<(), BookError> {
        if self.file.is_some() && identity(&self.path) == self.file {
            Ok(())
        } else {
            Err(BookError::Vanished {
                path: self.path.clone(),
            })
        }
    }
}

#[cfg(unix)]
fn identity(path: &Path) -> Option<Identity> {
    use std::os::unix::fs::MetadataExt;
    let found = std::fs::metadata(path).ok()?;
    Some((found.dev(), found.ino()))
}

#[cfg(not(unix))]
fn identity(path: &Path) -> Option<Identity> {
    std::fs::metadata(path).ok().map(|_| ())
}

#[cfg(test)]
mod tests {
    #[cfg(unix)]
    #[test]
    fn nothing_is_written_to_a_book_that_was_moved_removed_or_replaced() {
        use crate::book::testing::{draft, new_path};
        use crate::book::{Book, BookError};
        let (folder, path) = new_path();
        let aside = folder.path().join("aside");
        let mut book = Book::open(&path).unwrap();
        book.begin("r1", "mill", &[], &[draft("1")]).unwrap();
        let gone = |book: &mut Book| {
            let error = book.append("r1", 1, &[draft("2")], false).unwrap_err();
            assert!(matches!(error, BookError::Vanished { .. }), "{error}");
        };
        std::fs::rename(&path, &aside).unwrap();
        gone(&mut book);
        Book::open(&path).unwrap();
        gone(&mut book);
        std::fs::rename(&aside, &path).unwrap();
        book.append("r1", 1, &[draft("2")], false).unwrap();
        std::fs::remove_file(&path).unwrap();
        gone(&mut book);
        let error = book.begin("r2", "router", &[], &[draft("1")]).unwrap_err();
        assert!(matches!(error, BookError::Vanished { .. }), "{error}");
    }
}
