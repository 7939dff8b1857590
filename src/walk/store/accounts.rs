//! Between runs and the accounts of plates: what a cut writes into one, what one says at a run's beginning, and whether
//! both tell the same.
//!
//! A cut and its line in the account are one transaction. A run walked from an answers file writes lines that do not
//! count: nobody was at the machine; so does a run with any answer from a file. A rehearsal writes none.

use crate::book::{Book, Draft, Entry};
use crate::interlock::event::PlateKnown;
use crate::interlock::{CutEnd, Event, Instance, State};
use crate::plate::skims::one_skim;
use crate::procedure::ShopList;
use crate::procedure::shop::Item;
use crate::quantity::Length;
use crate::quantity::moment::Moment;
use crate::stock::{Account, Basis, RecordedCut, StockEntry, VERSION, ledger_of, plate_of};
use crate::walk::error::WalkError;
use crate::walk::store::commit::LedgerLines;
use crate::walk::store::log;

/// The version of events from which on cuts write into accounts.
const SINCE: u32 = 2;

/// The version of events from which on a line says what a skim takes.
const SKIM_SINCE: u32 = 5;

/// An account in the book: what it adds up to and its last entry.
#[derive(Clone, Debug)]
pub struct StoredAccount {
    /// The account; `None` while nothing was written.
    pub account: Option<Account>,
    /// Its entries.
    pub entries: Vec<(Moment, StockEntry)>,
    /// The number of its last entry.
    pub n: u32,
}

/// The account of a plate.
pub fn stored_account(book: &Book, plate: &str) -> Result<StoredAccount, WalkError> {
    let entries = book.ledger(&ledger_of(plate))?;
    let n = entries.last().map_or(0, |e| e.n);
    let entries: Vec<(Moment, StockEntry)> = entries.iter().map(stock).collect::<Result<_, _>>()?;
    let account = Account::of(entries.iter().cloned());
    Ok(StoredAccount {
        account,
        entries,
        n,
    })
}

/// Every plate that has an account.
pub(crate) fn plates(book: &Book) -> Result<Vec<String>, WalkError> {
    let ledgers = book.ledgers()?;
    Ok(ledgers
        .iter()
        .filter_map(|l| plate_of(l))
        .map(str::to_owned)
        .collect())
}

fn stock(entry: &Entry) -> Result<(Moment, StockEntry), WalkError> {
    log::stored(entry, VERSION)
}

/// An entry as the book takes it.
pub fn draft(entry: &StockEntry, at: Moment) -> Result<Draft, WalkError> {
    log::draft(entry.kind(), VERSION, at, entry)
}

/// What a shop file says of a plate, to open its account with; `None` for a plate without these facts.
pub(crate) fn basis(plate: &Item) -> Option<Basis> {
    Some(Basis {
        thickness: plate.length("thickness")?,
        least_thickness: plate.length("least_thickness")?,
        steel_depth: plate.length("steel_depth")?,
        fasteners: plate.fasteners().to_vec(),
    })
}

/// What these events write into the ledger of the run's plate, its opening included where it has no account yet; nothing for
/// most.
///
/// # Errors
/// Those of reading the account.
pub(crate) fn lines(
    book: &Book,
    state: &State,
    events: &[Event],
    at: Moment,
) -> Result<Option<LedgerLines>, WalkError> {
    let Some((plate, lines)) = cuts(state, events) else {
        return Ok(None);
    };
    let stored = stored_account(book, &plate.id)?;
    let opening = basis(&plate).filter(|_| stored.account.is_none());
    let drafts = opening
        .map(StockEntry::Opened)
        .into_iter()
        .chain(lines)
        .map(|line| draft(&line, at))
        .collect::<Result<_, _>>()?;
    Ok(Some(LedgerLines {
        ledger: ledger_of(&plate.id),
        after_n: stored.n,
        drafts,
    }))
}

/// The plate of the run and what these events took off it, as lines of its account.
fn cuts(state: &State, events: &[Event]) -> Option<(Item, Vec<StockEntry>)> {
    if state.begun.rehearsal {
        return None;
    }
    let plate = state.chosen(ShopList::Plates)?.clone();
    let found: Vec<StockEntry> = events
        .iter()
        .filter_map(|event| match event {
            Event::CutEnded { at, how, by, .. } => taken(state, at, *how, by).map(StockEntry::Cut),
            _ => None,
        })
        .collect();
    (!found.is_empty()).then_some((plate, found))
}

fn taken(state: &State, at: &Instance, how: CutEnd, by: &str) -> Option<RecordedCut> {
    let cutting = state.cutting.as_ref().filter(|c| c.at == *at)?;
    let surface = state.marks.surface();
    let bite = |height: Length| height.minus(cutting.plane).map(|b| b.max(Length::ZERO));
    Some(RecordedCut {
        run: state.begun.run.clone(),
        cut: at.to_string(),
        most: bite(surface.highest()?.height)?,
        least: bite(surface.lowest()?.height)?,
        finished: how == CutEnd::Finished,
        counts: !state.from_file,
        by: by.to_owned(),
        skim: state
            .chosen(ShopList::Cutters)
            .and_then(|c| c.length("finishing_bite"))
            .map(one_skim),
    })
}

/// What the account says of the plate just chosen; `None` where the shop file stands alone.
pub(crate) fn known(book: &Book, plate: &str) -> Result<Option<PlateKnown>, WalkError> {
    let kept = stored_account(book, plate)?;
    Ok(kept.account.map(|account| PlateKnown {
        plate: plate.to_owned(),
        thickness: account.thickness(),
        steel_depth: account.steel(),
        entry: kept.n,
    }))
}

/// Whether the accounts hold exactly what the cuts of these runs took, in the order of each run; what differs, if
/// not.
pub(crate) fn compare(book: &Book, runs: &[String]) -> Result<Option<String>, WalkError> {
    let mut held: Vec<(String, RecordedCut)> = Vec::new();
    for plate in plates(book)? {
        let cuts = stored_account(book, &plate)?
            .entries
            .into_iter()
            .filter_map(|(_, e)| match e {
                StockEntry::Cut(cut) => Some((plate.clone(), cut)),
                _ => None,
            });
        held.extend(cuts);
    }
    for run in runs {
        let replayed = replayed_cuts(book, run)?;
        let mine: Vec<(String, RecordedCut)> = held
            .iter()
            .filter(|(_, c)| c.run == *run)
            .cloned()
            .collect();
        let mut sorted = replayed.clone();
        // Lines of one run may stand in the accounts of two plates, when another was chosen on the way.
        sorted.sort_by(|a, b| a.0.cmp(&b.0));
        if sorted != mine {
            let what = format!(
                "the accounts of plates hold {} lines of run {run}, and its cuts come to {}, or they differ in what was taken",
                mine.len(),
                replayed.len()
            );
            return Ok(Some(what));
        }
    }
    if let Some((plate, cut)) = held.iter().find(|(_, c)| !runs.contains(&c.run)) {
        return Ok(Some(format!(
            "the account of {plate} names run {}, which is not in the book",
            cut.run
        )));
    }
    Ok(None)
}

/// What a run's cuts come to, replayed from its events.
fn replayed_cuts(book: &Book, run: &str) -> Result<Vec<(String, RecordedCut)>, WalkError> {
    let entries = book.entries(run)?;
    let loaded = log::load(book, run)?;
    let begun = loaded.state.begun.clone();
    let Some(first) = loaded.events.first() else {
        return Ok(Vec::new());
    };
    let (procedure, shop) = (loaded.state.procedure.clone(), loaded.state.shop.clone());
    let mut state = State::new(procedure, shop, begun, first.at);
    let mut found = Vec::new();
    for (entry, stamped) in entries.iter().zip(&loaded.events).skip(1) {
        if entry.version >= SINCE
            && let Some((plate, lines)) = cuts(&state, std::slice::from_ref(&stamped.event))
        {
            found.extend(lines.into_iter().filter_map(|line| match line {
                StockEntry::Cut(cut) => {
                    let skim = cut.skim.filter(|_| entry.version >= SKIM_SINCE);
                    Some((plate.id.clone(), RecordedCut { skim, ..cut }))
                }
                _ => None,
            }));
        }
        state.apply(stamped.at, &stamped.event);
    }
    Ok(found)
}
