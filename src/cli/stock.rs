//! `skimgate stock`: the plates and what is left of them.

mod measure;

use super::context::CommandContext;
use super::failure::Failure;
use super::missing::no_such;
use super::reporting::ReportArgs;
use super::status::Status;
use crate::clock;
use crate::interlock::answering::initials;
use crate::quantity::format::QuantityFormat;
use crate::report::page::Page;
use crate::report::stock;
use crate::stock::Account;
use crate::walk::store::accounts;
use serde_json::{Value, json};
use std::path::PathBuf;

/// List the plates and what is left of them; show or correct one
#[derive(clap::Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate stock list\n  skimgate stock list --json\n\nEach finished cut of a walk writes into the account of its plate. Exit status: 0 done, 2 wrong usage or no such plate."
)]
pub(crate) struct StockArgs {
    #[command(subcommand)]
    command: StockCommand,
}

impl StockArgs {
    /// Whether a program reads the report.
    pub(crate) fn json(&self) -> bool {
        match &self.command {
            StockCommand::List { report }
            | StockCommand::Show { report, .. }
            | StockCommand::Measure { report, .. } => report.json,
        }
    }
}

#[derive(clap::Subcommand, Debug)]
enum StockCommand {
    /// List every plate that has an account
    List {
        /// How it is reported.
        #[command(flatten)]
        report: ReportArgs,
    },
    /// Show one plate: thickness, steel, skims left, and the curve of it
    Show {
        /// The plate's id in the shop file
        plate: String,
        /// How it is reported.
        #[command(flatten)]
        report: ReportArgs,
    },
    /// Correct a plate's account by a measured thickness
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
        /// How it is reported; the unit of the thickness where none is asked for.
        #[command(flatten)]
        report: ReportArgs,
    },
}

/// Runs it.
pub(crate) fn run(args: &StockArgs, context: &CommandContext) -> Result<Status, Failure> {
    match &args.command {
        StockCommand::List { report } => list(context, *report),
        StockCommand::Show { plate, report } => {
            let accounts = all(context)?;
            let found = accounts.iter().find(|(name, _)| name == plate);
            let known = accounts.iter().map(|(name, _)| name.as_str());
            let (_, account) = found.ok_or_else(|| no_account(plate, known))?;
            report_account(context, plate, account, *report)
        }
        StockCommand::Measure {
            plate,
            thickness,
            by,
            reason,
            thicker,
            shop,
            report,
        } => {
            let (found, typed) = measure::length(thickness)?;
            let report = ReportArgs {
                unit: report.unit.or(Some(typed)),
                ..*report
            };
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
                show: QuantityFormat::new(report.system()),
                by: &by,
                reason,
                thicker: *thicker,
                shop: shop.as_deref(),
            };
            match measure::run(context, &measured)? {
                measure::MeasureOutcome::Account(account) => {
                    report_account(context, plate, &account, report)
                }
                measure::MeasureOutcome::Not(status) => Ok(status),
            }
        }
    }
}

fn no_account<'a>(plate: &str, known: impl IntoIterator<Item = &'a str>) -> Failure {
    no_such("the book", "account of a plate", plate, known)
        .hint("a finished cut or `skimgate stock measure` opens an account")
}

/// Every plate that has an account, with it.
fn all(context: &CommandContext) -> Result<Vec<(String, Account)>, Failure> {
    let mut found = Vec::new();
    let Some(book) = context.existing_book()? else {
        return Ok(found);
    };
    for plate in accounts::plates(&book)? {
        if let Some(account) = accounts::stored_account(&book, &plate)?.account {
            found.push((plate, account));
        }
    }
    Ok(found)
}

fn list(context: &CommandContext, report: ReportArgs) -> Result<Status, Failure> {
    let found = all(context)?;
    if report.json {
        let plates = found.iter().map(|(plate, account)| {
            let mut plate = stock::json(plate, account);
            // The version is that of the whole.
            plate.as_object_mut().map(|p| p.shift_remove("format"));
            plate
        });
        let plates: Vec<Value> = plates.collect();
        context.print_json(&json!({"format": 2, "plates": plates}))?;
        return Ok(Status::Fine);
    }
    if found.is_empty() {
        let page = Page::new()
            .text("No plate has an account.")
            .next("A finished cut of `skimgate walk` opens one, or `skimgate stock measure`.");
        context.print_page(&page)?;
        return Ok(Status::Fine);
    }
    context.print_page(&stock::list(&found, &QuantityFormat::new(report.system())))?;
    Ok(Status::Fine)
}

fn report_account(
    context: &CommandContext,
    plate: &str,
    account: &Account,
    report: ReportArgs,
) -> Result<Status, Failure> {
    if report.json {
        context.print_json(&stock::json(plate, account))?;
    } else {
        let curve = !context.out.plain;
        context.print_page(&stock::page(
            plate,
            account,
            &QuantityFormat::new(report.system()),
            &clock::local,
            curve,
        ))?;
    }
    Ok(Status::Fine)
}
