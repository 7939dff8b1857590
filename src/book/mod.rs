//! The book: the shop's record in one SQLite file, and the only place that names SQLite.
//!
//! A simple append-only store. It never decides and knows no kinds of entry. The meaning of an entry is in its body,
//! which the book never reads. It promises five things:
//!
//! - An entry is on disk before [`Book::begin`] or [`Book::append`] returns, and a batch is written completely or not
//!   at all.
//! - Entries are only ever added. They are numbered without gaps, and each names the digest of the previous one.
//! - A changed, moved or missing entry is detected ([`Book::verify_chain`]). The chain cannot detect a file that was
//!   rewritten from some entry to the end, or shortened at the end. To detect that, store the last digest elsewhere.
//! - A machine has at most one open run, and nobody writes to a run without having read all of it.
//! - At most one terminal has a machine ([`Claim`]).
//!
//! In addition to runs there are ledgers: streams of entries without a machine, a beginning or an end (the list of
//! people, the account of each plate). Their entries are in the same chain and follow the same rules. A name is either
//! a run's or a ledger's, never both.
//!
//! The journal mode is DELETE and not WAL: there is one file to copy and no shared-memory file next to it. Synchronous
//! is EXTRA, because the removal of the journal must be on disk too before an answer counts. The file must be on a
//! local disk, because locks on a network share are not reliable.
//!
//! Only SQLite opens the book's file. On Unix, closing any other handle to it in this process would release the locks
//! that SQLite holds (SQLite, "How To Corrupt An SQLite Database File", 2.2).

mod chain;
mod claim;
mod claim_files;
mod documents;
mod entry;
mod error;
mod ledger;
mod migrations;
mod opening;
mod presence;
mod reading;
mod salvage;
mod schema;
#[cfg(test)]
mod testing;
mod verify;
mod writing;

pub(crate) use chain::Chain;
pub(crate) use claim::Claim;
pub use entry::{Draft, Entry};
pub use error::{BookError, Damage, EntryFault};
pub(crate) use ledger::ToLedger;
pub use opening::{Book, location};
pub(crate) use reading::RunSummary;
pub(crate) use salvage::{IntactEntry, IntactRun};
