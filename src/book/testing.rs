//! Helpers for the book's tests.

use std::path::PathBuf;

use tempfile::TempDir;

use super::entry::Draft;

/// A path for a new book. The folder is removed when the first of the pair is dropped.
pub(super) fn new_path() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite3");
    (folder, path)
}

/// An entry to write.
pub(super) fn draft(body: &str) -> Draft {
    Draft {
        at: "2026-03-01T13:32:05.250Z".into(),
        kind: "note".into(),
        version: 1,
        body: body.into(),
    }
}
