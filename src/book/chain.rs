//! The chain of entries: each entry names the digest of the one before it in the book and counts on in its run. This
//! file makes the chain and checks it.

use std::collections::HashMap;

use rusqlite::{OptionalExtension, Transaction};

use super::entry::{Draft, Entry};
use super::error::{Damage, EntryFault};
use super::ledger::LedgerSummary;
use super::reading::RunSummary;
use crate::fingerprint::Fingerprint;

/// A chain of entries that was checked and is intact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chain {
    /// How many entries it has.
    pub entries: u64,
    /// The digest of the last one; [`Fingerprint::NONE`] when there is none.
    pub last: Fingerprint,
}

/// The last entry of the book.
pub(super) struct LastEntry {
    pub(super) seq: u64,
    pub(super) digest: Fingerprint,
}

impl LastEntry {
    pub(super) fn of(transaction: &Transaction<'_>) -> rusqlite::Result<Self> {
        let last = transaction
            .prepare_cached("SELECT seq, digest FROM entries ORDER BY seq DESC LIMIT 1")?
            .query_row([], |row| {
                Ok(Self {
                    seq: row.get(0)?,
                    digest: row.get(1)?,
                })
            })
            .optional()?;
        Ok(last.unwrap_or(Self {
            seq: 0,
            digest: Fingerprint::NONE,
        }))
    }

    /// The last entry after `entries` were added to this one.
    pub(super) fn after(self, entries: &[Entry]) -> Self {
        entries.last().map_or(self, |last| Self {
            seq: last.seq,
            digest: last.digest,
        })
    }

    /// The entries made of `drafts`, to follow this one. Numbers stop at their largest value instead of overflowing;
    /// the INSERT trigger then refuses them.
    pub(super) fn chain(
        &self,
        run: &str,
        after_n: u32,
        opens: Option<&str>,
        drafts: &[Draft],
        ends: bool,
    ) -> Vec<Entry> {
        let mut entries: Vec<Entry> = Vec::with_capacity(drafts.len());
        let (mut seq, mut n, mut previous) = (self.seq, after_n, self.digest);
        for (index, draft) in drafts.iter().enumerate() {
            seq = seq.saturating_add(1);
            n = n.saturating_add(1);
            let mut entry = Entry {
                seq,
                run: run.to_owned(),
                n,
                at: draft.at.clone(),
                kind: draft.kind.clone(),
                version: draft.version,
                body: draft.body.clone(),
                opens: opens.filter(|_| index == 0).map(str::to_owned),
                ends: ends && index + 1 == drafts.len(),
                previous,
                digest: Fingerprint::NONE,
            };
            entry.digest = entry.expected_digest();
            previous = entry.digest;
            entries.push(entry);
        }
        entries
    }
}

/// What was read from the entries checked so far.
pub(super) struct ChainProgress {
    pub(super) chain: Chain,
    runs: HashMap<String, RunSummary>,
    ledgers: HashMap<String, LedgerSummary>,
}

impl ChainProgress {
    pub(super) fn new() -> Self {
        Self {
            chain: Chain {
                entries: 0,
                last: Fingerprint::NONE,
            },
            runs: HashMap::new(),
            ledgers: HashMap::new(),
        }
    }

    pub(super) fn step(&mut self, entry: Entry) -> Result<(), Damage> {
        let seq = entry.seq;
        self.check(&entry)
            .map_err(|fault| Damage::Entry { seq, fault })?;
        self.chain = Chain {
            entries: seq,
            last: entry.digest,
        };
        if let Some(ledger) = entry.ledger() {
            let summary = LedgerSummary {
                ledger: ledger.to_owned(),
                entries: entry.n,
                last_at: entry.at,
            };
            self.ledgers.insert(summary.ledger.clone(), summary);
            return Ok(());
        }
        let run = self
            .runs
            .entry(entry.run)
            .or_insert_with_key(|run| RunSummary {
                run: run.clone(),
                machine: entry.opens.unwrap_or_default(),
                first_at: entry.at.clone(),
                last_at: String::new(),
                entries: 0,
                open: true,
            });
        run.last_at = entry.at;
        run.entries = entry.n;
        run.open = !entry.ends;
        Ok(())
    }

    fn check(&self, entry: &Entry) -> Result<(), EntryFault> {
        let expected = self.chain.entries.saturating_add(1);
        if entry.seq != expected {
            return Err(EntryFault::Gap { expected });
        }
        if entry.digest != entry.expected_digest() {
            return Err(EntryFault::Content);
        }
        if entry.previous != self.chain.last {
            return Err(EntryFault::Link);
        }
        if let Some(ledger) = entry.ledger() {
            let stands = self.ledgers.get(ledger).map_or(0, |l| l.entries);
            let expected = stands.saturating_add(1);
            return if entry.n != expected {
                Err(EntryFault::Place { expected })
            } else if entry.opens.is_some() || entry.ends {
                Err(EntryFault::Endless)
            } else {
                Ok(())
            };
        }
        let run = self.runs.get(&entry.run);
        let expected = run.map_or(0, |run| run.entries).saturating_add(1);
        if entry.n != expected {
            return Err(EntryFault::Place { expected });
        }
        if run.is_some_and(|run| !run.open) {
            return Err(EntryFault::AfterEnd);
        }
        Ok(())
    }

    pub(super) fn compare_ledgers(&mut self, listed: Vec<LedgerSummary>) -> Result<(), Damage> {
        for summary in listed {
            if self.ledgers.remove(&summary.ledger).as_ref() != Some(&summary) {
                return Err(Damage::Ledger {
                    ledger: summary.ledger,
                });
            }
        }
        match self.ledgers.keys().min() {
            Some(ledger) => Err(Damage::Ledger {
                ledger: ledger.clone(),
            }),
            None => Ok(()),
        }
    }

    pub(super) fn compare(&mut self, listed: Vec<RunSummary>) -> Result<(), Damage> {
        for summary in listed {
            if self.runs.remove(&summary.run).as_ref() != Some(&summary) {
                return Err(Damage::Run { run: summary.run });
            }
        }
        match self.runs.keys().min() {
            Some(run) => Err(Damage::Run { run: run.clone() }),
            None => Ok(()),
        }
    }
}
