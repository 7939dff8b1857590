//! `skimgate record export`: one run's entries as they were written, also out of a damaged book.

use crate::book::{Book, BookError, Salvage, Sound};
use crate::cli::around::Around;
use crate::cli::failure::Failure;
use crate::cli::status::Status;
use serde_json::json;
use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

/// Runs it.
pub fn run(
    book: &Book,
    around: &Around,
    id: &str,
    output: Option<&Path>,
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
    match output {
        Some(file) => write(file, &text)?,
        None => around.print(&text)?,
    }
    match left_out(&salvage) {
        None => Ok(Status::Fine),
        Some(words) => Err(Failure::new(Status::Damaged, words)
            .hint("a line with `\"chained\":true` follows from a sound beginning of the book; one without is only unchanged in itself")
            .hint("keep the book's file as it is")),
    }
}

/// An entry with all that its digest is made over, so that anyone can make it again.
fn line(sound: &Sound) -> String {
    let entry = &sound.entry;
    let line = json!({
        "format": 1, "seq": entry.seq, "run": entry.run, "n": entry.n, "at": entry.at, "kind": entry.kind,
        "version": entry.version, "body": entry.body, "opens": entry.opens, "ends": entry.ends,
        "previous": entry.previous.to_string(), "digest": entry.digest.to_string(), "chained": sound.chained,
    });
    format!("{line}\n")
}

fn write(file: &Path, text: &str) -> Result<(), Failure> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    // What is in a book is its owner's, and what is taken out of it no less.
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
        .open(file)
        .and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.sync_all()
        })
        .map_err(|error| {
            Failure::new(
                Status::Failed,
                format!("{} cannot be written: {error}", file.display()),
            )
            .hint("name a file that is not there yet")
        })
}

/// What is wrong and what was left out; none where all is whole.
fn left_out(salvage: &Salvage) -> Option<String> {
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
