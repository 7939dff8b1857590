//! `skimgate stock measure`: an account set right by a person with a micrometer. The one figure that nobody asks about
//! again, so it is held against what the account says, and against who says it.

use super::super::context::CommandContext;
use super::super::failure::Failure;
use super::super::files;
use super::super::missing::{no_such, shop_item};
use super::super::status::Status;
use super::no_account;
use crate::book::{Book, BookError};
use crate::clock::{Clock, SystemClock};
use crate::people::{People, Person, Role};
use crate::procedure::ShopList;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};
use crate::stock::{Account, Basis, MeasuredBy, StockEntry, ledger_of};
use crate::terminal::prompt::Terminal;
use crate::walk::prompts::keyring::{self, UnlockOutcome};
use crate::walk::store::{accounts, people_list};
use std::path::Path;

/// What was measured, by whom.
pub(crate) struct Measured<'a> {
    /// The plate's id.
    pub plate: &'a str,
    /// Its thickness.
    pub found: Length,
    /// How lengths are shown.
    pub show: QuantityFormat,
    /// Who measured.
    pub by: &'a str,
    /// Why, or with what.
    pub reason: &'a str,
    /// Whether it may be more than the account says.
    pub thicker: bool,
    /// The shop file that names the plate.
    pub shop: Option<&'a Path>,
}

/// What came of it.
pub(crate) enum MeasureOutcome {
    /// The account after it.
    Account(Account),
    /// Nothing was written; why was shown.
    Not(Status),
}

/// A measured thickness: its unit must be said, for this is one number that nobody asks about again.
pub(crate) fn length(text: &str) -> Result<(Length, UnitSystem), Failure> {
    let fault = |e: String| Failure::usage(format!("`{text}`: {e}"));
    let typed = quantity(text, &UnitSystem::Mm.length(), DecimalMark::Point)
        .map_err(|e| fault(e.to_string()))?;
    if typed.bare {
        return Err(fault(format!("no unit; write {text}mm or {text}in")));
    }
    let found = Length::exactly(typed.quantity).filter(|l| *l > Length::ZERO);
    let found = found.filter(|l| l.counts() <= Length::COUNTS_PER_MM * 1000);
    let found = found
        .ok_or_else(|| fault("a plate is thicker than 0 and no thicker than 1 m".to_owned()))?;
    let inch = text.contains("in") || text.contains('"') || text.contains("thou");
    Ok((
        found,
        if inch {
            UnitSystem::Inch
        } else {
            UnitSystem::Mm
        },
    ))
}

/// Writes it into the account.
pub(crate) fn run(
    context: &CommandContext,
    measured: &Measured,
) -> Result<MeasureOutcome, Failure> {
    let mut book = context.book()?;
    let people = people_list::load(&book)?;
    before(&book, &people, measured, context)?;
    if let Some(status) = known(&mut book, people, measured, context)? {
        return Ok(MeasureOutcome::Not(status));
    }
    let plate = measured.plate;
    let entry = StockEntry::Measured {
        thickness: measured.found,
        reason: measured.reason.to_owned(),
        by: measured.by.to_owned(),
        recorded_by: Some(MeasuredBy::Command),
    };
    let now = SystemClock.now();
    for _ in 0..10 {
        let kept = accounts::stored_account(&book, plate)?;
        let mut drafts = Vec::new();
        if kept.account.is_none() {
            let basis = basis(measured, context)?;
            drafts.push(accounts::draft(&StockEntry::Opened(basis), now)?);
        }
        drafts.push(accounts::draft(&entry, now)?);
        match book.append_to_ledger(&ledger_of(plate), kept.n, &drafts) {
            Ok(_) => {
                let account = accounts::stored_account(&book, plate)?.account;
                return account
                    .map(MeasureOutcome::Account)
                    .ok_or_else(|| no_account(plate, []));
            }
            Err(BookError::LedgerOvertaken { .. }) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Err(Failure::new(
        Status::Failed,
        "other terminals kept writing to this account; try again",
    ))
}

/// What the shop file says of the plate.
fn basis(measured: &Measured, context: &CommandContext) -> Result<Basis, Failure> {
    let shop = files::shop(measured.shop, context)?.content;
    let plate = shop_item(&shop, ShopList::Plates, measured.plate)?;
    accounts::basis(plate).ok_or_else(|| {
        Failure::usage(format!(
            "the shop file does not give all of `thickness`, `least thickness` and `steel depth` of {}",
            measured.plate
        ))
    })
}

/// Looks before anybody types a PIN: who it is by, and whether the plate would have grown.
fn before(
    book: &Book,
    people: &People,
    measured: &Measured,
    context: &CommandContext,
) -> Result<(), Failure> {
    let by = measured.by;
    let person = people.active(by).map(|l| &l.person);
    if !people.is_empty() && person.is_none() {
        let active = people.all().filter(|l| l.retired.is_none());
        let known = active.map(|l| l.person.initials.as_str());
        return Err(no_such("the list of people", "active person", by, known));
    }
    let is_learner = |p: &Person| !p.runs_something_alone() && p.at_least(Role::Trainer).is_none();
    if person.is_some_and(is_learner) {
        return Err(Failure::new(
            Status::Held,
            format!("{by} may run nothing alone, and a learner does not correct a plate's account"),
        )
        .hint("somebody who may run alone, a trainer or an owner measures again and corrects it"));
    }
    let said = match accounts::stored_account(book, measured.plate)?.account {
        Some(account) => account.thickness(),
        None => basis(measured, context)?.thickness,
    };
    if measured.found <= said {
        return Ok(());
    }
    if !measured.thicker {
        let show = &measured.show;
        return Err(Failure::new(
            Status::Held,
            format!(
                "{} is thicker than the {} that are on record, and metal does not grow",
                show.both(measured.found.into()),
                show.both(said.into())
            ),
        )
        .hint("measure again, where it is thinnest and on clean faces")
        .hint("if the record is wrong, or the plate is another one, say so with `--thicker` and the reason"));
    }
    if person.is_some_and(|p| p.at_least(Role::Trainer).is_none()) {
        return Err(Failure::new(
            Status::Held,
            format!(
                "{by} is neither trainer nor owner, and only they set a plate thicker than its record"
            ),
        ));
    }
    Ok(())
}

/// Lets the person prove who they are, where people are registered; how it ended where they did not.
fn known(
    book: &mut Book,
    mut people: People,
    measured: &Measured,
    context: &CommandContext,
) -> Result<Option<Status>, Failure> {
    if people.is_empty() {
        return Ok(None);
    }
    let mut prompter = Terminal::open(context.screen())
        .map_err(|e| Failure::from(e).hint("a PIN is typed at a terminal and nowhere else"))?;
    book.verify_chain()?;
    people_list::verify(book)?;
    Ok(
        match keyring::open(book, &mut people, &mut prompter, &SystemClock, measured.by)? {
            UnlockOutcome::Key(_) => None,
            UnlockOutcome::No | UnlockOutcome::Shut => Some(Status::Held),
            UnlockOutcome::Interrupted | UnlockOutcome::Closed => Some(Status::Interrupted),
        },
    )
}
