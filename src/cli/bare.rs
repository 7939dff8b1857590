//! `skimgate` alone: what is open and what to type next.

use super::around::Around;
use super::failure::Failure;
use super::status::Status;
use crate::report::page::{Item, Page, Tone};
use crate::walk::log;

/// Runs it.
pub fn run(around: &Around) -> Result<Status, Failure> {
    let open = match around.existing_book()? {
        Some(book) => {
            let mut lines = Vec::new();
            for run in book.open_runs()? {
                let state = log::load(&book, &run.run)?.state;
                let held = if state.release.is_some() {
                    "released"
                } else {
                    "held"
                };
                lines.push(format!(
                    "run {} on {}, {}: cycle start is {held}",
                    run.run, run.machine, state.operator
                ));
            }
            lines
        }
        None => Vec::new(),
    };
    let page = if open.is_empty() {
        Page::new()
            .text("No run is open.")
            .next("`skimgate walk` begins one. `skimgate --help` tells the rest.")
    } else {
        Page::new()
            .toned(Tone::Strong, "Open:")
            .list(open.into_iter().map(Item::new))
            .next("`skimgate walk` takes it up. `skimgate gate` says why cycle start is held.")
    };
    around.print_page(&page)?;
    Ok(Status::Fine)
}
