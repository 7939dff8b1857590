//! `skimgate record`: what was done.

mod export;
mod verify;

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use crate::book::Book;
use crate::clock;
use crate::report::page::{Page, Table, Tone};
use crate::report::{json, run};
use crate::walk::log;
use crate::walk::practice::scores;
use serde_json::json;
use std::path::PathBuf;

/// List runs, or tell one
#[derive(clap::Args, Debug)]
pub struct RecordArgs {
    #[command(subcommand)]
    command: RecordCommand,
}

#[derive(clap::Subcommand, Debug)]
enum RecordCommand {
    /// Every run, the latest last
    List {
        /// One JSON object a run on standard output
        #[arg(long)]
        json: bool,
    },
    /// One run: what was answered, accepted, signed and cut
    Show {
        /// The run's id, or the beginning of it that fits only one
        run: String,
        /// One JSON object on standard output
        #[arg(long)]
        json: bool,
        /// Every event, answers refused and changed among them
        #[arg(long)]
        all: bool,
    },
    /// Check the whole record: every entry, the chain of their digests, the texts kept with them, and that runs replay
    Verify {
        /// Replay only this run; the rest is checked all the same
        run: Option<String>,
        /// One JSON object on standard output
        #[arg(long)]
        json: bool,
    },
    /// Give one run out: its entries, a sheet to print, or lines for a spreadsheet
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
pub fn run(args: &RecordArgs, context: &CommandContext) -> Result<Status, Failure> {
    let Some(book) = context.existing_book()? else {
        let path = context.book_path()?;
        return Err(
            Failure::usage(format!("there is no book yet at {}", path.display()))
                .hint("`skimgate walk` begins one, `--book FILE` names another"),
        );
    };
    match &args.command {
        RecordCommand::List { json } => list(&book, context, *json),
        RecordCommand::Show { run, json, all } => show(&book, context, run, *json, *all),
        RecordCommand::Verify { run, json } => verify::run(&book, context, run.as_deref(), *json),
        RecordCommand::Export {
            run,
            form,
            output,
            force,
        } => export::run(&book, context, run, *form, (output.as_deref(), *force)),
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
        for run in &runs {
            let line = json!({
                "format": 1, "run": run.run, "machine": run.machine, "begun": run.first_at,
                "last": run.last_at, "entries": run.entries, "open": run.open,
                "from_file": from_files.contains(&run.run),
            });
            context.print(&format!("{line}\n"))?;
        }
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
    as_json: bool,
    all: bool,
) -> Result<Status, Failure> {
    let found = book.find_run(id)?;
    let loaded = log::load(book, &found.run)?;
    let digest = loaded.digest.to_string();
    if as_json {
        let json = json::run(&loaded.events, &loaded.state, &digest);
        context.print(&format!("{}\n", serde_json::to_string_pretty(&json)?))?;
        return Ok(Status::Fine);
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
