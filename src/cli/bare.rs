//! `skimgate` alone: what is open and what to type next.

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use crate::clock::{self, SystemClock};
use crate::report::page::{Item, Page, Tone};
use crate::walk::{released, service};

/// Runs it.
pub fn run(context: &CommandContext) -> Result<Status, Failure> {
    let mut out = Page::new();
    let open = match context.existing_book()? {
        Some(book) => {
            released::check_book(&book)?;
            for (machine, seen) in service::all(&book, None)? {
                out = out.then(service::page(&machine, &seen));
            }
            let mut lines = Vec::new();
            for run in book.open_runs()? {
                let seen = released::observe(&book, &run, &SystemClock)?;
                let state = seen.state;
                let held = if seen.released.is_ok() {
                    "released"
                } else {
                    "held"
                };
                let line = format!("run {} on {}, {}", run.run, run.machine, state.operator);
                lines.push(match &state.cutting {
                    Some(cut) => Item::toned(
                        Tone::Stop,
                        format!(
                            "{line}: cycle start was pressed {}, and nobody has said how the cut ended. Look at the machine",
                            clock::local(cut.since)
                        ),
                    ),
                    None => Item::new(format!("{line}: cycle start is {held}")),
                });
            }
            lines
        }
        None => Vec::new(),
    };
    let page = if open.is_empty() {
        Page::new()
            .text("No run is open.")
            .next("`skimgate walk` begins one, `skimgate rehearse` tries it on a practice mill. `skimgate --help` tells the rest.")
    } else {
        Page::new()
            .toned(Tone::Strong, "Open:")
            .list(open)
            .next("`skimgate walk` takes it up. `skimgate gate` says why cycle start is held.")
    };
    context.print_page(&out.then(page))?;
    Ok(Status::Fine)
}
