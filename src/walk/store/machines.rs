//! The ledgers of machines: what put one out of service, and who put it back.
//!
//! A machine's ledger outlasts its runs. An entry goes into it in one transaction with the run's own. A rehearsal and a run
//! with an answer from a file write none.

use crate::book::{Book, Draft};
use crate::interlock::{Event, OutOfService, State};
use crate::quantity::moment::Moment;
use crate::walk::error::WalkError;
use crate::walk::store::commit::LedgerLines;
use crate::walk::store::log;
use serde::{Deserialize, Serialize};

/// The version stored with each entry of a machine's ledger.
const VERSION: u32 = 1;

/// What every ledger of a machine begins with.
const LEDGER: &str = "machine ";

/// An entry of a machine's ledger, in the words it is stored in. Only ever added to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum ServiceEntry {
    /// It must not be used.
    OutOfService(OutOfService),
    /// It may be used again.
    BackInService {
        /// The run in which that was said.
        run: String,
        /// What was repaired, in the words typed.
        reason: String,
        /// The initials of the person who put it back.
        by: String,
    },
}

impl ServiceEntry {
    fn kind(&self) -> &'static str {
        match self {
            Self::OutOfService(_) => "out_of_service",
            Self::BackInService { .. } => "back_in_service",
        }
    }
}

/// The book's ledger of a machine.
fn ledger_of(machine: &str) -> String {
    format!("{LEDGER}{machine}")
}

/// A machine's record: what put it out of service, if that stands, and the number of its last entry.
pub(crate) fn read(book: &Book, machine: &str) -> Result<(Option<OutOfService>, u32), WalkError> {
    let entries = book.ledger(&ledger_of(machine))?;
    let n = entries.last().map_or(0, |e| e.n);
    let last = entries
        .last()
        .map(|e| log::stored::<ServiceEntry>(e, VERSION))
        .transpose()?;
    Ok((
        match last {
            Some((_, ServiceEntry::OutOfService(seen))) => Some(seen),
            _ => None,
        },
        n,
    ))
}

/// Every machine that is out of service, or the one that is named.
pub(crate) fn all(
    book: &Book,
    only: Option<&str>,
) -> Result<Vec<(String, OutOfService)>, WalkError> {
    let mut found = Vec::new();
    for ledger in book.ledgers()? {
        let machine = ledger.strip_prefix(LEDGER);
        if let Some(machine) = machine.filter(|m| only.is_none_or(|only| only == *m))
            && let (Some(seen), _) = read(book, machine)?
        {
            found.push((machine.to_owned(), seen));
        }
    }
    Ok(found)
}

/// What the machine's record says and the run's events do not, for a terminal that does not hold the run.
pub(crate) fn add_to(book: &Book, state: &mut State) -> Result<(), WalkError> {
    if !state.begun.rehearsal && state.out_of_service.is_none() {
        state.out_of_service = read(book, &state.begun.machine)?.0;
    }
    Ok(())
}

/// What an event of a run writes into its machine's ledger.
fn line(state: &State, event: &Event) -> Option<ServiceEntry> {
    let run = &state.begun.run;
    if state.begun.rehearsal || state.from_file {
        return None;
    }
    match event {
        Event::OutOfService(seen) if seen.run == *run => {
            Some(ServiceEntry::OutOfService(seen.clone()))
        }
        Event::BackInService { reason, by, .. } => Some(ServiceEntry::BackInService {
            run: run.clone(),
            reason: reason.clone(),
            by: by.clone(),
        }),
        _ => None,
    }
}

/// What these events write into the ledger of the run's machine; nothing for most.
///
/// # Errors
/// Those of reading the ledger.
pub(crate) fn lines(
    book: &Book,
    state: &State,
    events: &[Event],
    at: Moment,
) -> Result<Option<LedgerLines>, WalkError> {
    let drafts: Vec<Draft> = events
        .iter()
        .filter_map(|event| line(state, event))
        .map(|line| log::draft(line.kind(), VERSION, at, &line))
        .collect::<Result<_, _>>()?;
    if drafts.is_empty() {
        return Ok(None);
    }
    let machine = &state.begun.machine;
    let (_, after_n) = read(book, machine)?;
    Ok(Some(LedgerLines {
        ledger: ledger_of(machine),
        after_n,
        drafts,
    }))
}

/// Whether the ledgers of machines hold exactly what these runs wrote, in the order of the book; what differs, if not.
pub(crate) fn compare(book: &Book, runs: &[String]) -> Result<Option<String>, WalkError> {
    let mut written: Vec<(u64, String, ServiceEntry)> = Vec::new();
    for run in runs {
        let entries = book.entries(run)?;
        log::replay(book, run, |n, state, event| {
            let entry = entries.iter().find(|e| e.n == n);
            if let (Some(line), Some(entry)) = (line(state, event), entry) {
                written.push((entry.seq, state.begun.machine.clone(), line));
            }
            Ok(())
        })?;
    }
    written.sort_by_key(|(seq, ..)| *seq);
    let mut machines: Vec<String> = book.ledgers()?;
    machines.retain(|ledger| ledger.starts_with(LEDGER));
    machines.extend(written.iter().map(|(_, machine, _)| ledger_of(machine)));
    machines.sort();
    machines.dedup();
    for ledger in machines {
        let held: Vec<ServiceEntry> = book
            .ledger(&ledger)?
            .iter()
            .map(|e| log::stored(e, VERSION).map(|(_, line)| line))
            .collect::<Result<_, _>>()?;
        let said = written.iter().filter(|(_, m, _)| ledger_of(m) == ledger);
        if !said.map(|(.., line)| line).eq(&held) {
            return Ok(Some(format!(
                "the record of {ledger} does not hold what its runs say of its being out of service"
            )));
        }
    }
    Ok(None)
}
