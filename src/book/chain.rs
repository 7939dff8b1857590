//! What makes entries a chain: each follows from the one before, in the book and in its run.

use std::collections::HashMap;

use super::entry::Entry;
use super::error::{Damage, EntryFault};
use super::reading::RunSummary;
use crate::fingerprint::Fingerprint;

/// A chain of entries that holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chain {
    /// How many entries it has.
    pub entries: u64,
    /// The digest of the last one; [`Fingerprint::NONE`] when there is none.
    pub last: Fingerprint,
}

/// What the entries so far say.
pub(super) struct Walk {
    pub(super) chain: Chain,
    runs: HashMap<String, RunSummary>,
}

impl Walk {
    pub(super) fn new() -> Self {
        Self {
            chain: Chain {
                entries: 0,
                last: Fingerprint::NONE,
            },
            runs: HashMap::new(),
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
