//! `skimgate stock`: the plates and what is left of them.

use super::around::Around;
use super::failure::Failure;
use super::files;
use super::status::Status;
use crate::book::{Book, BookError};
use crate::clock::{self, Clock, SystemClock};
use crate::interlock::answering::initials;
use crate::procedure::ShopList;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Length, UnitSystem, show::Show};
use crate::report::page::Page;
use crate::report::stock;
use crate::stock::{Account, StockEntry, ledger_of};
use crate::walk::accounts;
use std::path::PathBuf;

/// List the plates and what is left of them, or tell or correct one
#[derive(clap::Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate stock list\n  skimgate stock list --json\n\nEach finished cut of a walk writes into the account of its plate. Exit status: 0 done, 2 wrong usage or no such plate."
)]
pub struct StockArgs {
    #[command(subcommand)]
    command: StockCommand,
}

#[derive(clap::Subcommand, Debug)]
enum StockCommand {
    /// Every plate that has an account
    List {
        /// One JSON object a plate on standard output
        #[arg(long)]
        json: bool,
        /// Show in mm or inch
        #[arg(long, value_parser = unit, default_value = "mm")]
        unit: UnitSystem,
    },
    /// One plate: thickness, steel, skims left, and the curve of it
    Show {
        /// The plate's id in the shop file
        plate: String,
        /// One JSON object on standard output
        #[arg(long)]
        json: bool,
        /// Show in mm or inch
        #[arg(long, value_parser = unit, default_value = "mm")]
        unit: UnitSystem,
    },
    /// Set a plate's account right by a measured thickness
    Measure {
        /// The plate's id in the shop file
        plate: String,
        /// The thickness where it is thinnest, with its unit, such as 19.62mm or 0.773in
        thickness: String,
        /// Who measured, by initials
        #[arg(long)]
        by: String,
        /// Why, or with what
        #[arg(long)]
        reason: String,
        /// The shop file that names the plate, for one that has no account yet; the invented shop when left out
        #[arg(long, value_name = "FILE")]
        shop: Option<PathBuf>,
        /// One JSON object on standard output
        #[arg(long)]
        json: bool,
    },
}

fn unit(text: &str) -> Result<UnitSystem, String> {
    UnitSystem::from_word(text).ok_or_else(|| format!("`{text}` is not mm or inch"))
}

/// Runs it.
pub fn run(args: &StockArgs, around: &Around) -> Result<Status, Failure> {
    match &args.command {
        StockCommand::List { json, unit } => list(around, *json, *unit),
        StockCommand::Show { plate, json, unit } => {
            let found = around
                .existing_book()?
                .map(|book| accounts::kept(&book, plate))
                .transpose()?;
            let account = found
                .and_then(|k| k.account)
                .ok_or_else(|| no_account(plate))?;
            tell(around, plate, &account, *json, *unit)
        }
        StockCommand::Measure {
            plate,
            thickness,
            by,
            reason,
            shop,
            json,
        } => {
            let (found, unit) = length(thickness)?;
            let by = initials(by)
                .ok_or_else(|| Failure::usage("initials are one to eight letters or digits"))?;
            let reason = reason.trim();
            if reason.is_empty() || reason.chars().any(char::is_control) {
                return Err(Failure::usage(
                    "the reason is empty or holds control characters; say why or with what it was measured",
                ));
            }
            let entry = StockEntry::Measured {
                thickness: found,
                reason: reason.to_owned(),
                by,
            };
            let account = measure(around, plate, &entry, shop.as_deref())?;
            tell(around, plate, &account, *json, unit)
        }
    }
}

fn no_account(plate: &str) -> Failure {
    Failure::usage(format!("the book has no account of a plate `{plate}`"))
        .hint("`skimgate stock list` names those it has; a finished cut or `skimgate stock measure` opens one")
}

/// A measured thickness: its unit must be said, for this is one number that nobody asks about again.
fn length(text: &str) -> Result<(Length, UnitSystem), Failure> {
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

fn measure(
    around: &Around,
    plate: &str,
    entry: &StockEntry,
    shop: Option<&std::path::Path>,
) -> Result<Account, Failure> {
    let mut book = around.book()?;
    let now = SystemClock.now();
    for _ in 0..10 {
        let kept = accounts::kept(&book, plate)?;
        let mut drafts = Vec::new();
        if kept.account.is_none() {
            let shop = files::shop(shop, around)?.content;
            let item = shop.item(ShopList::Plates, plate);
            let basis = item.and_then(accounts::basis).ok_or_else(|| {
                let known: Vec<&str> = shop
                    .items(ShopList::Plates)
                    .iter()
                    .map(|i| i.id.as_str())
                    .collect();
                no_account(plate).hint(format!("the shop file has: {}", known.join(", ")))
            })?;
            drafts.push(accounts::draft(&StockEntry::Opened(basis), now)?);
        }
        drafts.push(accounts::draft(entry, now)?);
        match book.append_to_ledger(&ledger_of(plate), kept.n, &drafts) {
            Ok(_) => {
                return accounts::kept(&book, plate)?
                    .account
                    .ok_or_else(|| no_account(plate));
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

fn all(book: &Book) -> Result<Vec<(String, Account)>, Failure> {
    let mut found = Vec::new();
    for plate in accounts::plates(book)? {
        if let Some(account) = accounts::kept(book, &plate)?.account {
            found.push((plate, account));
        }
    }
    Ok(found)
}

fn list(around: &Around, as_json: bool, unit: UnitSystem) -> Result<Status, Failure> {
    let found = around
        .existing_book()?
        .map(|book| all(&book))
        .transpose()?
        .unwrap_or_default();
    if as_json {
        for (plate, account) in &found {
            around.print(&format!("{}\n", stock::json(plate, account)))?;
        }
        return Ok(Status::Fine);
    }
    if found.is_empty() {
        let page = Page::new()
            .text("No plate has an account.")
            .next("A finished cut of `skimgate walk` opens one, or `skimgate stock measure`.");
        around.print_page(&page)?;
        return Ok(Status::Fine);
    }
    around.print_page(&stock::list(&found, &Show::new(unit)))?;
    Ok(Status::Fine)
}

fn tell(
    around: &Around,
    plate: &str,
    account: &Account,
    as_json: bool,
    unit: UnitSystem,
) -> Result<Status, Failure> {
    if as_json {
        around.print(&format!("{}\n", stock::json(plate, account)))?;
    } else {
        let curve = !around.out.plain;
        around.print_page(&stock::page(
            plate,
            account,
            &Show::new(unit),
            &clock::local,
            curve,
        ))?;
    }
    Ok(Status::Fine)
}
