//! The book: the shop's record in one SQLite file, and the only place that names SQLite.
//!
//! A deliberately dumb append store. It never decides and knows no kind of entry; what an entry means is in its body,
//! which the book never reads. It promises five things:
//!
//! - An entry is on disk before [`Book::begin`] or [`Book::append`] returns, and a batch is there whole or not at all.
//! - Entries are only ever added: numbered without gaps, each naming the digest of the one before.
//! - A changed, moved or missing entry shows ([`Book::verify_chain`]). What a chain cannot show is a file that was
//!   rewritten from some entry to the end, or cut short at the end: for that, keep the last digest somewhere else.
//! - One open run to a machine; nobody writes to a run without having seen all of it.
//! - One terminal to a machine ([`Claim`]).
//!
//! Beside runs stand ledgers: streams of entries without a machine, a beginning or an end (who may sign, what is left of
//! each plate). They are links of the same chain under the same rules, and no run is ever one of them.
//!
//! Journal mode DELETE and not WAL: one file to copy, no shared-memory file beside it. Synchronous EXTRA, because the
//! journal's removal must be on disk too before an answer counts. The file belongs on a local disk: locks on a network
//! share are not to be trusted.
//!
//! The book's file is opened by SQLite alone. On Unix, closing any other handle to it in this process would drop the
//! locks that SQLite holds (SQLite, "How To Corrupt An SQLite Database File", 2.2).

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

pub use chain::Chain;
pub use claim::Claim;
pub use entry::{Draft, Entry};
pub use error::{BookError, Damage, EntryFault};
pub use ledger::ToLedger;
pub use opening::{Book, location};
pub use reading::RunSummary;
pub use salvage::{IntactEntry, IntactRun};
