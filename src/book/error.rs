//! What can go wrong with the book, in words that say what, where and what to do.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

use crate::fingerprint::Fingerprint;

/// A failure of the book. Nothing of the batch that met it was written.
#[derive(Debug, Error)]
pub enum BookError {
    /// There is no book, and one was only to be read.
    #[error("there is no book at {} yet; the first walk begins one, or set SKIMGATE_BOOK to where it is", .path.display())]
    Missing {
        /// Where it was looked for.
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
    /// The file or its folder may be read, not written.
    #[error("the book at {} is read-only; allow writing to the file and its folder, or set SKIMGATE_BOOK to another place", .path.display())]
    ReadOnly {
        /// The book.
        path: PathBuf,
    },
    /// The file has a second hard link.
    #[error("the book at {} has {names} names (hard links), so that two terminals could hold one machine; find them with `find FOLDER -inum {file}`, remove all but one, and copy the book where a copy is wanted", .path.display())]
    Linked {
        /// Where.
        path: PathBuf,
        /// How many names it has.
        names: u64,
        /// The file's number on its disk.
        file: u64,
    },
    /// The file was moved, removed or replaced while it was open.
    #[error("the book is no longer at {}; nothing was recorded: put it, or its disk, back where it was, then walk on", .path.display())]
    Vanished {
        /// Where it was.
        path: PathBuf,
    },
    /// No room.
    #[error("the disk with the book at {} is full; nothing was recorded: make room and try again", .path.display())]
    DiskFull {
        /// The book.
        path: PathBuf,
    },
    /// The disk failed.
    #[error("the disk failed under the book at {}: {detail}; nothing was recorded: check the disk, and copy the book before going on", .path.display())]
    DiskFailed {
        /// The book.
        path: PathBuf,
        /// SQLite's reason.
        detail: String,
    },
    /// The file is something else.
    #[error("the file at {} is not a skimgate book; move it away, or set SKIMGATE_BOOK to another place", .path.display())]
    NotABook {
        /// The file.
        path: PathBuf,
    },
    /// Written by a newer skimgate.
    #[error("the book at {} has layout {found}, this skimgate knows layouts up to {known}; use the newer skimgate that wrote it", .path.display())]
    Newer {
        /// The book.
        path: PathBuf,
        /// Its layout.
        found: u32,
        /// The newest layout known here.
        known: u32,
    },
    /// Another process is writing, and went on doing so.
    #[error("the book at {} is locked by another program; nothing was recorded: close the program and try again", .path.display())]
    Locked {
        /// The book.
        path: PathBuf,
    },
    /// The record cannot be trusted.
    #[error("the book at {} is damaged: {damage}; keep the file as it is, and go on with the last good copy or a new book", .path.display())]
    Damaged {
        /// The book.
        path: PathBuf,
        /// What is wrong, and where.
        damage: Damage,
    },
    /// SQLite refused for a reason that ought not to arise.
    #[error("the book at {} refused: {detail}; nothing was recorded: try again, and run `skimgate record verify` if it stays so", .path.display())]
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
        "run {run} went on elsewhere: it stands at entry {found}, not {seen}; nothing was recorded: load the run again"
    )]
    Overtaken {
        /// The run.
        run: String,
        /// The last entry that the writer had seen.
        seen: u32,
        /// The last entry there is.
        found: u32,
    },
    /// Something was recorded since the writer looked at the whole book.
    #[error("the book went on elsewhere meanwhile; nothing was recorded: give the answer again")]
    WentOn,
    /// The ledger has entries that the writer has not seen.
    #[error(
        "the list of {ledger} went on elsewhere: it stands at entry {found}, not {seen}; nothing was recorded: look at it again"
    )]
    LedgerOvertaken {
        /// The ledger.
        ledger: String,
        /// The last entry that the writer had seen.
        seen: u32,
        /// The last entry there is.
        found: u32,
    },
    /// A name that cannot be a run's or a ledger's.
    #[error("`{name}` is no name for a {what}: a colon at its beginning, or no name at all")]
    BadName {
        /// The name.
        name: String,
        /// `run` or `ledger`.
        what: &'static str,
    },
    /// A new run was given the name of an old one.
    #[error("there is already a run {run} in the book; begin again, which makes a new name")]
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
        /// What was asked for.
        name: String,
    },
    /// Several runs begin so.
    #[error("several runs begin with `{prefix}`: {}{}; type more of it", .runs.join(", "), if *.more { " and more" } else { "" })]
    ManyRuns {
        /// What was asked for.
        prefix: String,
        /// Some of them.
        runs: Vec<String>,
        /// Whether there are more than these.
        more: bool,
    },
    /// A document is not there.
    #[error("the book at {} has no document {fingerprint}; it may be the wrong book, or one that lost it", .path.display())]
    NoSuchDocument {
        /// The book.
        path: PathBuf,
        /// Its fingerprint.
        fingerprint: Fingerprint,
    },
    /// A document was handed in under a fingerprint that is not its own.
    #[error(
        "a document was to be kept as {fingerprint}, but its own fingerprint is {own}; it changed while being read: read it again"
    )]
    WrongFingerprint {
        /// The fingerprint handed in.
        fingerprint: Fingerprint,
        /// The fingerprint of the text.
        own: Fingerprint,
    },
    /// A run was to begin or end without an entry that says so.
    #[error("run {run} cannot begin or end without an entry that says so")]
    NothingToWrite {
        /// The run.
        run: String,
    },
    /// Another terminal drives the machine's run.
    #[error(
        "machine `{machine}` is being walked from another terminal ({by}); go on there, or leave it there first"
    )]
    Held {
        /// The machine.
        machine: String,
        /// Who holds it, as far as is known.
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
        /// Its place in the book.
        seq: u64,
        /// What is wrong with it.
        fault: EntryFault,
    },
    /// The text is not the one that was kept.
    #[error("document {fingerprint} has been changed")]
    Document {
        /// The fingerprint it is kept under.
        fingerprint: String,
    },
    /// The list of runs does not say what the entries say.
    #[error("the list of runs and the entries disagree about run {run}")]
    Run {
        /// The run.
        run: String,
    },
    /// The list of ledgers does not say what the entries say.
    #[error("the list of ledgers and the entries disagree about the ledger {ledger}")]
    Ledger {
        /// The ledger.
        ledger: String,
    },
    /// SQLite cannot read its file, or found a value where none can be.
    #[error("{detail}")]
    File {
        /// What SQLite says.
        detail: String,
    },
}

/// What is wrong with an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum EntryFault {
    /// Entries before it are gone.
    #[error("it should be entry {expected}; entries are missing before it")]
    Gap {
        /// The place that comes next.
        expected: u64,
    },
    /// It does not name the digest of the entry before.
    #[error("it does not follow from the entry before it")]
    Link,
    /// Its content is not what its digest was made over.
    #[error("its content has been changed")]
    Content,
    /// Its place in its run is wrong.
    #[error("it should be entry {expected} of its run")]
    Place {
        /// The place that comes next in the run.
        expected: u32,
    },
    /// It opens or ends a ledger.
    #[error("it opens or ends a ledger, which has no beginning and no end")]
    Endless,
    /// It comes after its run's end.
    #[error("its run had ended before it")]
    AfterEnd,
}

impl BookError {
    /// Whether the same may succeed later with nothing else done: nothing was written, and what stood in the way is outside
    /// the book.
    pub fn may_pass(&self) -> bool {
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

    /// What a failure of SQLite means for the book at `path`.
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
                // A value that is no text, no number or no fingerprint where one was written.
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

/// For `map_err`: what SQLite failures mean for the book at `path`.
pub(super) fn at(path: &Path) -> impl Fn(rusqlite::Error) -> BookError {
    |error| BookError::from_sqlite(path, &error)
}
