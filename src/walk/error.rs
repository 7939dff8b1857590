//! What can go wrong in a walk that is not the person's answer.

use crate::book::{BookError, Damage};
use crate::interlock::SignFault;
use crate::interlock::audit::StartFault;
use crate::terminal::prompt::PromptError;
use thiserror::Error;

/// Why a walk cannot go on. The run stays as recorded so far.
#[derive(Debug, Error)]
pub enum WalkError {
    /// The book failed.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The book could not be written or read for a reason that may pass, and the person left instead of trying again.
    #[error(transparent)]
    GivenUp(BookError),
    /// The desk failed.
    #[error(transparent)]
    Prompter(#[from] PromptError),
    /// A stored event cannot be read by this version.
    #[error(
        "entry {n} of run {run} cannot be read by this version ({reason}); use the version of skimgate that wrote it"
    )]
    Event {
        /// The run.
        run: String,
        /// The number of the entry in the run.
        n: u32,
        /// What is wrong with it, in words.
        reason: String,
    },
    /// A stored event was written by a newer skimgate.
    #[error(
        "entry {n} of run {run} is of format {found}, this skimgate knows formats up to {known}; use the newer skimgate that wrote it"
    )]
    Newer {
        /// The run.
        run: String,
        /// The number of the entry in the run.
        n: u32,
        /// Its format.
        found: u32,
        /// The newest format known here.
        known: u32,
    },
    /// The procedure or shop file kept with a run no longer reads.
    #[error(
        "the {what} that run {run} began with cannot be read by this version; use the version of skimgate that wrote it"
    )]
    Document {
        /// The run.
        run: String,
        /// Procedure or shop file.
        what: &'static str,
    },
    /// An entry of the list of people cannot be trusted or read.
    #[error("entry {n} of the list of people: {reason}")]
    People {
        /// The number of the entry in the ledger.
        n: u32,
        /// What is wrong with it, in words.
        reason: String,
    },
    /// A sign-off on record does not hold.
    #[error("entry {n} of run {run} is not a sign-off: {fault}")]
    Signature {
        /// The run.
        run: String,
        /// The number of the entry in the run.
        n: u32,
        /// The rule that the signature breaks.
        fault: SignFault,
    },
    /// A release or a start on record is none.
    #[error("entry {n} of run {run} is no release: {why}")]
    Release {
        /// The run.
        run: String,
        /// The number of the entry in the run.
        n: u32,
        /// The rule that the release breaks, in words.
        why: &'static str,
    },
    /// A start on record lacks what cleared it.
    #[error("entry {n} of run {run} is no start that was cleared: {fault}")]
    Start {
        /// The run.
        run: String,
        /// The number of the entry in the run.
        n: u32,
        /// What it lacks.
        fault: StartFault,
    },
    /// An answer on record names an earlier run from which it cannot stand.
    #[error("entry {n} of run {run} does not stand from the run that it names: {why}")]
    Standing {
        /// The run.
        run: String,
        /// The number of the entry in the run.
        n: u32,
        /// Why not, in words.
        why: String,
    },
    /// A ledger does not hold what the runs say of it.
    #[error("{0}")]
    Ledger(String),
    /// An owner took the run over; this terminal has it no more.
    #[error(
        "run {run} was taken over by {by} at another terminal; nothing typed here since is recorded"
    )]
    TakenOver {
        /// The run.
        run: String,
        /// The owner.
        by: String,
    },
    /// Nobody could sign for taking a run over.
    #[error("an owner signs for taking a run over, and nobody is registered")]
    NoOwner,
    /// A run cannot be taken over.
    #[error("the run is not taken over: {0}")]
    NotTakenOver(String),
    /// A key's file cannot be written or read.
    #[error("the key at {} cannot be used: {source}; see that you may read and write it and its folder", .path.display())]
    KeyFile {
        /// The file.
        path: std::path::PathBuf,
        /// The system's reason.
        source: std::io::Error,
    },
    /// A key cannot be made or opened.
    #[error(transparent)]
    Key(#[from] crate::keys::KeyError),
    /// Something that must hold does not; a bug.
    #[error(
        "{0}; this is a fault of skimgate itself, please report it with the run's `skimgate record show`"
    )]
    Fault(String),
}

impl WalkError {
    /// What is damaged, where it says that the book is. Where the chain holds all the same, it was written so, forged to the end
    /// of the book, or a text was removed.
    pub(crate) fn damage(&self) -> Option<Damage> {
        match self {
            Self::Book(BookError::Damaged { damage, .. }) => Some(damage.clone()),
            Self::Book(BookError::NoSuchDocument { .. })
            | Self::Event { .. }
            | Self::Document { .. }
            | Self::People { .. }
            | Self::Signature { .. }
            | Self::Release { .. }
            | Self::Start { .. }
            | Self::Standing { .. }
            | Self::Ledger(_) => Some(Damage::File {
                detail: self.to_string(),
            }),
            Self::Book(_)
            | Self::GivenUp(_)
            | Self::Prompter(_)
            | Self::Newer { .. }
            | Self::TakenOver { .. }
            | Self::NoOwner
            | Self::NotTakenOver(_)
            | Self::KeyFile { .. }
            | Self::Key(_)
            | Self::Fault(_) => None,
        }
    }
}
