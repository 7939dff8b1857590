//! `skimgate record`: what was done.

mod export;
mod verify;

use super::context::CommandContext;
use super::failure::Failure;
use super::missing::no_such;
use super::reporting::{JsonArg, ReportArgs};
use super::status::Status;
use crate::book::{Book, BookError, RunSummary};
use crate::clock;
use crate::report::page::{Page, Table, Tone};
use crate::report::{json, run};
use crate::walk::practice::scores;
use crate::walk::store::log;
use serde_json::{Value, json};
use std::path::PathBuf;

/// List runs, show one, verify the record, or export a run
#[derive(clap::Args, Debug)]
pub(crate) struct RecordArgs {
    #[command(subcommand)]
    command: RecordCommand,
}

#[derive(clap::Subcommand, Debug)]
enum RecordCommand {
    /// List every run, the latest last
    List {
        /// How it is reported.
        #[command(flatten)]
        report: JsonArg,
    },
    /// Show one run: what was answered, accepted, signed and cut
    Show {
        /// The run's id, or the beginning of it that fits only one
        run: String,
        /// How it is reported; the run's unit where none is asked for.
        #[command(flatten)]
        report: ReportArgs,
        /// Every event, answers refused and changed among them
        #[arg(long)]
        all: bool,
    },
    /// Check the whole record: every entry, the chain of their digests, the texts kept with them, and that runs replay
    Verify {
        /// Replay only this run; the rest is checked all the same
        run: Option<String>,
        /// How it is reported.
        #[command(flatten)]
        report: JsonArg,
    },
    /// Export one run: its entries, a sheet to print, or lines for a spreadsheet
    Export {
        /// The run's id, or the beginning of it that fits only one
        run: String,
        /// What as
        #[arg(
            long = "as",
            value_name = "FORM",
            value_enum,
            default_value = "entries"
        )]
        form: export::Form,
        /// Write to this file instead of standard output
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Replace the file if it is there
        #[arg(long, requires = "output")]
        force: bool,
    },
}

/// Runs it.
pub(crate) fn run(args: &RecordArgs, context: &CommandContext) -> Result<Status, Failure> {
    let Some(book) = context.existing_book()? else {
        let path = context.book_path()?;
        return Err(
            Failure::usage(format!("there is no book yet at {}", path.display()))
                .hint("`skimgate walk` begins one, `--book FILE` names another"),
        );
    };
    match &args.command {
        RecordCommand::List { report } => list(&book, context, report.json),
        RecordCommand::Show { run, report, all } => show(&book, context, run, *report, *all),
        RecordCommand::Verify { run, report } => {
            verify::run(&book, context, run.as_deref(), report.json)
        }
        RecordCommand::Export {
            run,
            form,
            output,
            force,
        } => export::run(&book, context, run, *form, (output.as_deref(), *force)),
    }
}

impl RecordArgs {
    /// Whether a program reads the report.
    pub(crate) fn json(&self) -> bool {
        match &self.command {
            RecordCommand::List { report } | RecordCommand::Verify { report, .. } => report.json,
            RecordCommand::Show { report, .. } => report.json,
            RecordCommand::Export { .. } => false,
        }
    }
}

/// The run of that id, or the only one whose id begins so.
///
/// # Errors
/// Names those that there are, where there is none.
pub(crate) fn find_run(book: &Book, id: &str) -> Result<RunSummary, Failure> {
    match book.find_run(id) {
        Err(BookError::NoSuchRun { .. }) => {
            let runs = book.runs()?;
            // The latest are the likeliest to be asked for.
            let known = runs.iter().rev().map(|r| r.run.as_str());
            Err(no_such("the book", "run", id, known))
        }
        found => Ok(found?),
    }
}

/// When an entry was made, to the minute, so that a row fits 80 columns; `show` and JSON tell the rest.
fn minute(at: &str) -> String {
    clock::local_text(at).chars().take(16).collect()
}

fn list(book: &Book, context: &CommandContext, as_json: bool) -> Result<Status, Failure> {
    let runs = book.runs()?;
    let from_files = log::from_files(book)?;
    if as_json {
        let runs = runs.iter().map(|run| {
            json!({
                "run": run.run, "machine": run.machine, "begun": run.first_at,
                "last": run.last_at, "entries": run.entries, "open": run.open,
                "from_file": from_files.contains(&run.run),
            })
        });
        let runs: Vec<Value> = runs.collect();
        context.print_json(&json!({"format": 2, "runs": runs}))?;
        return Ok(Status::Fine);
    }
    if runs.is_empty() {
        context.print_page(
            &Page::new()
                .text("No runs are recorded.")
                .next("`skimgate walk` begins one."),
        )?;
        return Ok(Status::Fine);
    }
    let rows = runs.iter().map(|r| {
        vec![
            r.run.clone(),
            r.machine.clone(),
            minute(&r.first_at),
            minute(&r.last_at),
            r.entries.to_string(),
            format!(
                "{}{}",
                if r.open { "open" } else { "over" },
                if from_files.contains(&r.run) {
                    ", file"
                } else {
                    ""
                }
            ),
        ]
    });
    let table = Table {
        head: ["run", "machine", "begun", "last entry", "entries", ""]
            .map(str::to_owned)
            .into(),
        rows: rows.collect(),
        align: Vec::new(),
    };
    let mut page = Page::new();
    if scores::is_practice(book.path()) {
        page = page.toned(
            Tone::Look,
            "Practice: rehearsals on a virtual mill, no real cuts.",
        );
    }
    page = page.table(table);
    if !from_files.is_empty() {
        page = page.toned(
            Tone::Quiet,
            "file: answers come from a file; never released, and counts in no plate's account.",
        );
    }
    context.print_page(&page)?;
    Ok(Status::Fine)
}

fn show(
    book: &Book,
    context: &CommandContext,
    id: &str,
    report: ReportArgs,
    all: bool,
) -> Result<Status, Failure> {
    let found = find_run(book, id)?;
    let mut loaded = log::load(book, &found.run)?;
    let digest = loaded.digest.to_string();
    if report.json {
        context.print_json(&json::run(&loaded.events, &loaded.state, &digest))?;
        return Ok(Status::Fine);
    }
    // From here on it is only shown.
    if let Some(unit) = report.unit {
        loaded.state.begun.unit = unit;
    }
    let mut page = run::page(&loaded.events, &loaded.state, &clock::local);
    if all {
        page = page.then(run::every_event(
            &loaded.events,
            &loaded.state,
            &clock::local,
        ));
    }
    page = page.gap().toned(
        Tone::Quiet,
        format!("Last entry {}, digest {digest}.", loaded.n),
    );
    context.print_page(&page)?;
    Ok(Status::Fine)
}
