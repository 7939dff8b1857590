//! Writing to the book.

use std::path::Path;

use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::chain::LastEntry;
use super::documents::store;
use super::entry::{Draft, Entry, LEDGER};
use super::error::{BookError, at};
use super::ledger::{ToLedger, to_ledger};
use super::opening::Book;
use crate::fingerprint::Fingerprint;

impl Book {
    /// Begins `run` on `machine`: stores the documents that it uses and writes its first entries, all in one
    /// transaction. Returns the entries once they are on disk.
    ///
    /// # Errors
    /// [`BookError::MachineBusy`] when a run is open on the machine, [`BookError::RunExists`],
    /// [`BookError::NothingToWrite`] without drafts, [`BookError::WrongFingerprint`], and disk errors.
    pub fn begin(
        &mut self,
        run: &str,
        machine: &str,
        documents: &[(Fingerprint, &str)],
        drafts: &[Draft],
    ) -> Result<Vec<Entry>, BookError> {
        if run.is_empty() || run.starts_with(LEDGER) {
            return Err(BookError::BadName {
                name: run.to_owned(),
                what: "run",
            });
        }
        let (Some(first), Some(last)) = (drafts.first(), drafts.last()) else {
            return Err(BookError::NothingToWrite {
                run: run.to_owned(),
            });
        };
        let (connection, path) = self.parts()?;
        let transaction = immediate(connection, path)?;
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
            store(&transaction, path, *fingerprint, content)?;
        }
        let tip = LastEntry::of(&transaction).map_err(at(path))?;
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

    /// Writes `drafts` to `run` after its entry `after_n`, in one transaction. With `ends`, the last of them ends the
    /// run. Returns the entries once they are on disk.
    ///
    /// # Errors
    /// [`BookError::Overtaken`] when the run's last entry is not `after_n`, [`BookError::RunEnded`],
    /// [`BookError::NoSuchRun`], [`BookError::NothingToWrite`] when a run is to end without drafts, and disk errors.
    pub fn append(
        &mut self,
        run: &str,
        after_n: u32,
        drafts: &[Draft],
        ends: bool,
    ) -> Result<Vec<Entry>, BookError> {
        let (connection, path) = self.parts()?;
        let transaction = immediate(connection, path)?;
        let tip = LastEntry::of(&transaction).map_err(at(path))?;
        let entries = to_run(&transaction, path, &tip, run, after_n, drafts, ends)?;
        commit(transaction, path, entries)
    }

    /// As [`Book::append`], but only if nothing was written to the whole book since its last entry had the digest
    /// `last`. This is for decisions that depend on other runs too.
    ///
    /// # Errors
    /// [`BookError::WentOn`] when something was, and those of [`Book::append`].
    pub(crate) fn append_to_last(
        &mut self,
        run: &str,
        after_n: u32,
        drafts: &[Draft],
        ends: bool,
        last: Fingerprint,
    ) -> Result<Vec<Entry>, BookError> {
        let (connection, path) = self.parts()?;
        let transaction = immediate(connection, path)?;
        let tip = LastEntry::of(&transaction).map_err(at(path))?;
        if tip.digest != last {
            return Err(BookError::WentOn);
        }
        let entries = to_run(&transaction, path, &tip, run, after_n, drafts, ends)?;
        commit(transaction, path, entries)
    }

    /// Does [`Book::append`] and [`Book::append_to_ledger`] in one transaction: both are written, or neither. Returns
    /// the entries of the run, then those of the ledger.
    ///
    /// # Errors
    /// Those of [`Book::append`] and [`Book::append_to_ledger`].
    pub(crate) fn append_with_ledger(
        &mut self,
        run: &str,
        after_n: u32,
        drafts: &[Draft],
        ends: bool,
        also: &ToLedger<'_>,
    ) -> Result<Vec<Entry>, BookError> {
        let also = std::slice::from_ref(also);
        self.append_with_ledgers(run, after_n, drafts, ends, also)
    }

    /// As [`Book::append_with_ledger`], for several ledgers: all are written, or none.
    ///
    /// # Errors
    /// Those of [`Book::append_with_ledger`].
    pub(crate) fn append_with_ledgers(
        &mut self,
        run: &str,
        after_n: u32,
        drafts: &[Draft],
        ends: bool,
        also: &[ToLedger<'_>],
    ) -> Result<Vec<Entry>, BookError> {
        let (connection, path) = self.parts()?;
        let transaction = immediate(connection, path)?;
        let mut tip = LastEntry::of(&transaction).map_err(at(path))?;
        let mut entries = to_run(&transaction, path, &tip, run, after_n, drafts, ends)?;
        tip = tip.after(&entries);
        for ledger in also {
            let more = to_ledger(&transaction, path, &tip, ledger)?;
            tip = tip.after(&more);
            entries.extend(more);
        }
        commit(transaction, path, entries)
    }
}

/// Adds `drafts` to `run` and updates the list of runs. Returns the entries.
fn to_run(
    transaction: &Transaction<'_>,
    path: &Path,
    tip: &LastEntry,
    run: &str,
    after_n: u32,
    drafts: &[Draft],
    ends: bool,
) -> Result<Vec<Entry>, BookError> {
    let Some((found, open)) = standing(transaction, run).map_err(at(path))? else {
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
    let entries = tip.chain(run, after_n, None, drafts, ends);
    transaction
        .execute(
            "UPDATE runs SET last_at = ?2, entries = entries + ?3, open = ?4 WHERE run = ?1",
            params![run, last.at, drafts.len(), !ends],
        )
        .map_err(at(path))?;
    Ok(entries)
}

pub(super) fn immediate<'c>(
    connection: &'c mut Connection,
    path: &Path,
) -> Result<Transaction<'c>, BookError> {
    connection
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(at(path))
}

pub(super) fn commit(
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

#[cfg(test)]
mod tests;
