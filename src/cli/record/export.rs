//! `skimgate record export`: one run given out, as its entries, as a sheet to print or as lines for a spreadsheet.

use crate::book::{Book, BookError, IntactEntry, IntactRun};
use crate::cli::context::CommandContext;
use crate::cli::failure::Failure;
use crate::cli::files::written;
use crate::cli::record::find_run;
use crate::cli::status::Status;
use crate::clock;
use crate::files::{self, ReadAs, ReadableBy};
use crate::fingerprint::Fingerprint;
use crate::interlock::State;
use crate::program::study::study;
use crate::report::html;
use crate::report::lengths::Lengths;
use crate::report::plan;
use crate::report::sheet::{self, Sheet};
use crate::scene::Scene;
use crate::visible;
use crate::walk::program::setup;
use crate::walk::store::log;
use serde_json::json;
use std::path::Path;

/// What a run is given out as.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Form {
    /// Its entries as they were written, one JSON object a line; of a damaged book, those that are whole
    Entries,
    /// A sheet to print: one HTML file with drawings
    Html,
    /// Its answers as comma-separated lines
    Csv,
}

/// A file, and whether it may replace one; without a file standard output.
pub(crate) type Destination<'a> = (Option<&'a Path>, bool);

/// Runs it.
pub(crate) fn run(
    book: &Book,
    context: &CommandContext,
    id: &str,
    form: Form,
    output: Destination<'_>,
) -> Result<Status, Failure> {
    if form == Form::Entries {
        return entries(book, context, id, output);
    }
    let found = find_run(book, id)?;
    let mut limits = sheet::Limits::new();
    let loaded = log::replay(book, &found.run, |_, state, event| {
        sheet::take_down(&mut limits, state, event);
        Ok(())
    })?;
    let sheet = Sheet {
        events: &loaded.events,
        state: &loaded.state,
        limits: &limits,
        digest: &loaded.digest.to_string(),
        path: path(&loaded.state),
        local: &clock::local,
    };
    let text = match form {
        Form::Csv => sheet.lines(),
        _ => html::document(&format!("Run {}", found.run), &sheet.page()),
    };
    give(context, output, &text)?;
    Ok(Status::Fine)
}

fn give(
    context: &CommandContext,
    (output, force): Destination<'_>,
    text: &str,
) -> Result<(), Failure> {
    match output {
        // What is in a book is its owner's, and what is taken out of it no less.
        Some(file) => written(file, text, force, ReadableBy::Owner),
        None => context.print_data(text),
    }
}

/// The program's path over the plate; only of the very bytes that the run knew.
fn path(state: &State) -> Result<Scene, String> {
    let Some((_, path, fingerprint)) = state.program() else {
        return Err("No program was given.".to_owned());
    };
    let missing = |why: &str| Err(format!("The path of {path} is not drawn: {why}."));
    let Ok(content) = files::read(Path::new(path), ReadAs::Program) else {
        return missing("the file cannot be read any more");
    };
    if Fingerprint::of(&content) != fingerprint {
        return missing("the file is another one by now");
    }
    let (setup, dialect, dynamics) = setup::of_run(state);
    match study(&mut content.as_slice(), &dialect, &setup, dynamics) {
        Ok(study) => match plan::of_study(&study, Lengths::of(&study)) {
            Some(scene) => Ok(scene),
            None => missing(
                "the shop file does not say where the plate lies in the program's coordinates (`x corner`, `y corner`)",
            ),
        },
        Err(error) => missing(&error.to_string()),
    }
}

/// A run's entries as they were written, also out of a damaged book.
fn entries(
    book: &Book,
    context: &CommandContext,
    id: &str,
    output: Destination<'_>,
) -> Result<Status, Failure> {
    // The list of runs may be what is damaged; a whole id finds its entries without it.
    let run = match book.find_run(id) {
        Ok(found) => found.run,
        Err(BookError::Damaged { .. } | BookError::NoSuchRun { .. }) => id.to_owned(),
        Err(error) => return Err(error.into()),
    };
    let salvage = book.salvage(&run)?;
    if salvage.entries.is_empty() && salvage.changed.is_empty() && salvage.damage.is_none() {
        return Err(BookError::NoSuchRun {
            path: book.path().to_path_buf(),
            name: run,
        }
        .into());
    }
    let text: String = salvage.entries.iter().map(line).collect();
    give(context, output, &text)?;
    match left_out(&salvage) {
        None => Ok(Status::Fine),
        Some(words) => Err(Failure::new(Status::Damaged, words)
            .hint("a line with `\"chained\":true` follows from a sound beginning of the book; one without is only unchanged in itself")
            .hint("keep the book's file as it is")),
    }
}

/// An entry with all that its digest is made over, so that anyone can make it again.
fn line(sound: &IntactEntry) -> String {
    let entry = &sound.entry;
    let line = json!({
        "format": 1, "seq": entry.seq, "run": entry.run, "n": entry.n, "at": entry.at, "kind": entry.kind,
        "version": entry.version, "body": entry.body, "opens": entry.opens, "ends": entry.ends,
        "previous": entry.previous.to_string(), "digest": entry.digest.to_string(), "chained": sound.chained,
    });
    format!("{}\n", visible::text(&line.to_string()))
}

/// What is wrong and what was left out; none where all is whole.
fn left_out(salvage: &IntactRun) -> Option<String> {
    let damage = salvage.damage.as_ref()?;
    let mut words = format!(
        "the book is damaged: {damage}; sound entries of this run: {}",
        salvage.entries.len()
    );
    if !salvage.changed.is_empty() {
        let places: Vec<String> = salvage.changed.iter().map(u64::to_string).collect();
        words.push_str(&format!(", left out as changed: {}", places.join(", ")));
    }
    if salvage.unreadable > 0 {
        words.push_str(&format!(
            ", entries of the book that cannot be read: {}",
            salvage.unreadable
        ));
    }
    Some(words)
}
