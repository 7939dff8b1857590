//! The errors of the book. Each message says what, where and what to do.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

use crate::fingerprint::Fingerprint;

/// An error of the book. Nothing of the batch was written.
#[derive(Debug, Error)]
pub enum BookError {
    /// There is no book, and the caller only reads.
    #[error("there is no book at {} yet; the first walk begins one, or set SKIMGATE_BOOK to where it is", .path.display())]
    Missing {
        /// The path where the book was expected.
        path: PathBuf,
    },
    /// The folder or the file cannot be made.
    #[error("the book cannot be made at {}: {source}; make the folder writable, or set SKIMGATE_BOOK to another place", .path.display())]
    CannotMake {
        /// What could not be made.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// The file is there but cannot be opened.
    #[error("the book at {} cannot be opened: {detail}; see that it is a file and that you may read and write it and its folder", .path.display())]
    CannotOpen {
        /// The book.
        path: PathBuf,
        /// SQLite's reason.
        detail: String,
    },
    /// The file or its folder may be read but not written.
    #[error("the book at {} is read-only; allow writing to the file and its folder, or set SKIMGATE_BOOK to another place", .path.display())]
    ReadOnly {
        /// The book.
        path: PathBuf,
    },
    /// The file has a second hard link.
    #[error("the book at {} has {names} names (hard links), so two terminals could hold one machine; find the names with `find FOLDER -inum {file}`, remove all but one, and make a copy of the book if you need one", .path.display())]
    Linked {
        /// The book.
        path: PathBuf,
        /// The number of names that the file has.
        names: u64,
        /// The file's number on its disk (inode).
        file: u64,
    },
    /// The file was moved, removed or replaced while it was open.
    #[error("the book is no longer at {}; nothing was recorded: put it, or its disk, back where it was, then walk on", .path.display())]
    Vanished {
        /// The path where it was.
        path: PathBuf,
    },
    /// The disk is full.
    #[error("the disk with the book at {} is full; nothing was recorded: make room and try again", .path.display())]
    DiskFull {
        /// The book.
        path: PathBuf,
    },
    /// The disk reported an error.
    #[error("the disk failed under the book at {}: {detail}; nothing was recorded: check the disk, and copy the book before going on", .path.display())]
    DiskFailed {
        /// The book.
        path: PathBuf,
        /// SQLite's reason.
        detail: String,
    },
    /// The file is not a book.
    #[error("the file at {} is not a skimgate book; move it away, or set SKIMGATE_BOOK to another place", .path.display())]
    NotABook {
        /// The file.
        path: PathBuf,
    },
    /// A newer skimgate wrote the file.
    #[error("the book at {} has layout {found}, this skimgate knows layouts up to {known}; use the newer skimgate that wrote it", .path.display())]
    Newer {
        /// The book.
        path: PathBuf,
        /// The layout of the file.
        found: u32,
        /// The newest layout that this program reads.
        known: u32,
    },
    /// Another process held the write lock for longer than the waiting time.
    #[error("the book at {} is locked by another program; nothing was recorded: close the program and try again", .path.display())]
    Locked {
        /// The book.
        path: PathBuf,
    },
    /// The record cannot be trusted.
    #[error("the book at {} is damaged: {damage}; keep the file as it is, and continue with the last good copy or a new book", .path.display())]
    Damaged {
        /// The book.
        path: PathBuf,
        /// What is wrong, and where.
        damage: Damage,
    },
    /// SQLite refused for an unexpected reason.
    #[error("the book at {} refused: {detail}; nothing was recorded: try again, and run `skimgate record verify` if it happens again", .path.display())]
    Refused {
        /// The book.
        path: PathBuf,
        /// SQLite's reason.
        detail: String,
    },
    /// The machine has an open run.
    #[error("run {run} is still open on machine `{machine}`; resume it or end it first")]
    MachineBusy {
        /// The machine.
        machine: String,
        /// Its open run.
        run: String,
    },
    /// The run has entries that the writer has not seen.
    #[error(
        "run {run} was continued elsewhere: its last entry is {found}, not {seen}; nothing was recorded: load the run again"
    )]
    Overtaken {
        /// The run.
        run: String,
        /// The last entry that the writer had seen.
        seen: u32,
        /// The last entry there is.
        found: u32,
    },
    /// An entry was added since the writer read the whole book.
    #[error(
        "another terminal wrote to the book in the meantime; nothing was recorded: give the answer again"
    )]
    WentOn,
    /// The ledger has entries that the writer has not seen.
    #[error(
        "the list of {ledger} was changed elsewhere: its last entry is {found}, not {seen}; nothing was recorded: read it again"
    )]
    LedgerOvertaken {
        /// The ledger.
        ledger: String,
        /// The last entry that the writer had seen.
        seen: u32,
        /// The last entry there is.
        found: u32,
    },
    /// The name cannot be used for a run or a ledger.
    #[error("`{name}` cannot be the name of a {what}: it is empty or begins with a colon")]
    BadName {
        /// The name.
        name: String,
        /// `run` or `ledger`.
        what: &'static str,
    },
    /// A new run has the name of an old one.
    #[error("the book already has a run {run}; begin the run again to get a new name")]
    RunExists {
        /// The name.
        run: String,
    },
    /// The run has ended.
    #[error("run {run} has ended and takes no more entries; begin a new run")]
    RunEnded {
        /// The run.
        run: String,
    },
    /// No run has that name.
    #[error("no run in the book at {} is called `{name}` or begins so; `skimgate record list` shows all", .path.display())]
    NoSuchRun {
        /// The book.
        path: PathBuf,
        /// The name that was looked up.
        name: String,
    },
    /// The names of several runs begin with the prefix.
    #[error("several runs begin with `{prefix}`: {}{}; type more of it", .runs.join(", "), if *.more { " and more" } else { "" })]
    ManyRuns {
        /// The prefix that was looked up.
        prefix: String,
        /// The first of the runs.
        runs: Vec<String>,
        /// Whether there are more than these.
        more: bool,
    },
    /// The book does not have the document.
    #[error("the book at {} has no document {fingerprint}; it may be the wrong book, or the document was removed", .path.display())]
    NoSuchDocument {
        /// The book.
        path: PathBuf,
        /// The document's fingerprint.
        fingerprint: Fingerprint,
    },
    /// The caller passed a document with a fingerprint that is not its own.
    #[error(
        "a document was to be stored as {fingerprint}, but its own fingerprint is {own}; it changed while it was read: read it again"
    )]
    WrongFingerprint {
        /// The fingerprint that the caller passed.
        fingerprint: Fingerprint,
        /// The fingerprint of the text.
        own: Fingerprint,
    },
    /// The caller tried to begin or end a run without an entry for it.
    #[error("run {run} cannot begin or end without an entry for it")]
    NothingToWrite {
        /// The run.
        run: String,
    },
    /// Another terminal has the machine's run.
    #[error(
        "machine `{machine}` is in use at another terminal ({by}); continue there, or leave it there first"
    )]
    Held {
        /// The machine.
        machine: String,
        /// The holder, as far as it is known.
        by: String,
    },
    /// The claim cannot be made.
    #[error("machine `{machine}` cannot be claimed at {}: {source}; make the folder writable and keep the book on a local disk", .path.display())]
    CannotClaim {
        /// The machine.
        machine: String,
        /// The lock file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

/// What is wrong with a damaged book.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Damage {
    /// The first bad entry.
    #[error("entry {seq}: {fault}")]
    Entry {
        /// Its number in the book.
        seq: u64,
        /// What is wrong with it.
        fault: EntryFault,
    },
    /// The text is not the one that was stored.
    #[error("document {fingerprint} has been changed")]
    Document {
        /// The fingerprint that it is stored under.
        fingerprint: String,
    },
    /// The list of runs and the entries disagree.
    #[error("the list of runs and the entries disagree about run {run}")]
    Run {
        /// The run.
        run: String,
    },
    /// The list of ledgers and the entries disagree.
    #[error("the list of ledgers and the entries disagree about the ledger {ledger}")]
    Ledger {
        /// The ledger.
        ledger: String,
    },
    /// SQLite cannot read its file, or a value has an impossible type.
    #[error("{detail}")]
    File {
        /// SQLite's message.
        detail: String,
    },
}

/// What is wrong with an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum EntryFault {
    /// Entries before it are missing.
    #[error("it should be entry {expected}; entries are missing before it")]
    Gap {
        /// The number that is next.
        expected: u64,
    },
    /// It does not name the digest of the previous entry.
    #[error("it does not follow from the entry before it")]
    Link,
    /// Its content does not match its digest.
    #[error("its content has been changed")]
    Content,
    /// Its number in its run is wrong.
    #[error("it should be entry {expected} of its run")]
    Place {
        /// The number that is next in the run.
        expected: u32,
    },
    /// It opens or ends a ledger.
    #[error("it opens or ends a ledger, which has no beginning and no end")]
    Endless,
    /// It comes after the end of its run.
    #[error("its run ended before it")]
    AfterEnd,
}

impl BookError {
    /// Whether the same call may succeed later without any change: nothing was written, and the cause is outside the
    /// book.
    pub(crate) fn may_pass(&self) -> bool {
        matches!(
            self,
            Self::Locked { .. }
                | Self::DiskFull { .. }
                | Self::DiskFailed { .. }
                | Self::ReadOnly { .. }
                | Self::CannotOpen { .. }
                | Self::Vanished { .. }
                | Self::CannotClaim { .. }
        )
    }

    /// The error of the book at `path` for an error of SQLite.
    pub(super) fn from_sqlite(path: &Path, error: &rusqlite::Error) -> Self {
        let path = path.to_path_buf();
        let detail = error.to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Locked { path },
            Some(ErrorCode::ReadOnly) => Self::ReadOnly { path },
            Some(ErrorCode::DiskFull) => Self::DiskFull { path },
            Some(ErrorCode::SystemIoFailure) => Self::DiskFailed { path, detail },
            Some(ErrorCode::NotADatabase) => Self::NotABook { path },
            Some(ErrorCode::DatabaseCorrupt) => Self::file_damage(&path, detail),
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                Self::CannotOpen { path, detail }
            }
            Some(_) => Self::Refused { path, detail },
            None => match error {
                // A column holds a value that is not the text, number or fingerprint that was written.
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::IntegralValueOutOfRange(..)
                | rusqlite::Error::InvalidColumnType(..)
                | rusqlite::Error::Utf8Error(..) => Self::file_damage(&path, detail),
                _ => Self::Refused { path, detail },
            },
        }
    }

    pub(super) fn file_damage(path: &Path, detail: String) -> Self {
        let (path, damage) = (path.to_path_buf(), Damage::File { detail });
        Self::Damaged { path, damage }
    }
}

/// For `map_err`: turns errors of SQLite into errors of the book at `path`.
pub(super) fn at(path: &Path) -> impl Fn(rusqlite::Error) -> BookError {
    |error| BookError::from_sqlite(path, &error)
}
