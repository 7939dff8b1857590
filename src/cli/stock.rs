//! `skimgate stock`: the plates and what is left of them.

mod measure;

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use super::unit::unit;
use crate::book::Book;
use crate::clock;
use crate::interlock::answering::initials;
use crate::quantity::{UnitSystem, format::QuantityFormat};
use crate::report::page::Page;
use crate::report::stock;
use crate::stock::Account;
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
        /// Who measured, by initials; where people are registered, they type their PIN
        #[arg(long)]
        by: String,
        /// Why, or with what
        #[arg(long)]
        reason: String,
        /// Take a thickness above what the account says. Metal does not grow: one of the two figures is wrong, and a trainer or owner says so where people are registered
        #[arg(long)]
        thicker: bool,
        /// The shop file that names the plate, for one that has no account yet; the invented shop when left out
        #[arg(long, value_name = "FILE")]
        shop: Option<PathBuf>,
        /// One JSON object on standard output
        #[arg(long)]
        json: bool,
    },
}

/// Runs it.
pub fn run(args: &StockArgs, context: &CommandContext) -> Result<Status, Failure> {
    match &args.command {
        StockCommand::List { json, unit } => list(context, *json, *unit),
        StockCommand::Show { plate, json, unit } => {
            let found = context
                .existing_book()?
                .map(|book| accounts::stored_account(&book, plate))
                .transpose()?;
            let account = found
                .and_then(|k| k.account)
                .ok_or_else(|| no_account(plate))?;
            report_account(context, plate, &account, *json, *unit)
        }
        StockCommand::Measure {
            plate,
            thickness,
            by,
            reason,
            thicker,
            shop,
            json,
        } => {
            let (found, unit) = measure::length(thickness)?;
            let by = initials(by)
                .ok_or_else(|| Failure::usage("initials are one to eight letters or digits"))?;
            let reason = reason.trim();
            if reason.is_empty() || reason.chars().any(char::is_control) {
                return Err(Failure::usage(
                    "the reason is empty or holds control characters; say why or with what it was measured",
                ));
            }
            let measured = measure::Measured {
                plate,
                found,
                show: QuantityFormat::new(unit),
                by: &by,
                reason,
                thicker: *thicker,
                shop: shop.as_deref(),
            };
            match measure::run(context, &measured)? {
                measure::MeasureOutcome::Account(account) => {
                    report_account(context, plate, &account, *json, unit)
                }
                measure::MeasureOutcome::Not(status) => Ok(status),
            }
        }
    }
}

fn no_account(plate: &str) -> Failure {
    Failure::usage(format!("the book has no account of a plate `{plate}`"))
        .hint("`skimgate stock list` names those it has; a finished cut or `skimgate stock measure` opens one")
}

fn all(book: &Book) -> Result<Vec<(String, Account)>, Failure> {
    let mut found = Vec::new();
    for plate in accounts::plates(book)? {
        if let Some(account) = accounts::stored_account(book, &plate)?.account {
            found.push((plate, account));
        }
    }
    Ok(found)
}

fn list(context: &CommandContext, as_json: bool, unit: UnitSystem) -> Result<Status, Failure> {
    let found = context
        .existing_book()?
        .map(|book| all(&book))
        .transpose()?
        .unwrap_or_default();
    if as_json {
        for (plate, account) in &found {
            context.print(&format!("{}\n", stock::json(plate, account)))?;
        }
        return Ok(Status::Fine);
    }
    if found.is_empty() {
        let page = Page::new()
            .text("No plate has an account.")
            .next("A finished cut of `skimgate walk` opens one, or `skimgate stock measure`.");
        context.print_page(&page)?;
        return Ok(Status::Fine);
    }
    context.print_page(&stock::list(&found, &QuantityFormat::new(unit)))?;
    Ok(Status::Fine)
}

fn report_account(
    context: &CommandContext,
    plate: &str,
    account: &Account,
    as_json: bool,
    unit: UnitSystem,
) -> Result<Status, Failure> {
    if as_json {
        context.print(&format!("{}\n", stock::json(plate, account)))?;
    } else {
        let curve = !context.out.plain;
        context.print_page(&stock::page(
            plate,
            account,
            &QuantityFormat::new(unit),
            &clock::local,
            curve,
        ))?;
    }
    Ok(Status::Fine)
}
