//! `skimgate` alone: what is open and what to type next.

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use crate::clock::{self, SystemClock};
use crate::report::page::{Item, Page, Tone};
use crate::walk::session::service;
use crate::walk::store::{machines, released};
use serde_json::json;

/// Runs it.
pub(crate) fn run(context: &CommandContext, as_json: bool) -> Result<Status, Failure> {
    let mut out = Page::new();
    let (mut runs, mut machines) = (Vec::new(), Vec::new());
    let open = match context.existing_book()? {
        Some(book) => {
            released::check_book(&book)?;
            for (machine, seen) in machines::all(&book, None)? {
                out = out.then(service::page(&machine, &seen));
                machines.push(json!({"machine": machine, "why": seen.words()}));
            }
            let mut lines = Vec::new();
            for run in book.open_runs()? {
                let seen = released::observe(&book, &run, &SystemClock)?;
                let state = seen.state;
                let released = seen.released.is_ok();
                let held = if released { "released" } else { "held" };
                runs.push(json!({
                    "run": run.run, "machine": run.machine, "operator": state.operator, "released": released,
                    "cutting_since": state.cutting.as_ref().map(|cut| cut.since.to_string()),
                }));
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
    if as_json {
        context.print_json(&json!({"format": 1, "open": runs, "out_of_service": machines}))?;
        return Ok(Status::Fine);
    }
    let page = if open.is_empty() {
        Page::new()
            .text("No run is open.")
            .next("`skimgate walk` begins one, `skimgate rehearse` tries it on a practice mill. `skimgate --help` shows the rest.")
    } else {
        Page::new()
            .toned(Tone::Strong, "Open:")
            .list(open)
            .next("`skimgate walk` takes it up. `skimgate gate` says why cycle start is held.")
    };
    context.print_page(&out.then(page))?;
    Ok(Status::Fine)
}
