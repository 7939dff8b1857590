//! `skimgate record verify`: whether the record is what was written.

use crate::book::{Book, Chain, Damage};
use crate::cli::context::CommandContext;
use crate::cli::failure::Failure;
use crate::cli::status::Status;
use crate::report::page::{Page, Tone};
use crate::walk::WalkError;
use crate::walk::store::accounts;
use crate::walk::store::machines;
use crate::walk::store::people_list;
use crate::walk::store::replay::replay;
use serde_json::json;

/// Runs it.
pub(crate) fn run(
    book: &Book,
    context: &CommandContext,
    only: Option<&str>,
    as_json: bool,
) -> Result<Status, Failure> {
    let (chain, runs) = match check(book, only) {
        Ok(found) => found,
        Err(error) => {
            return match error.damage() {
                Some(damage) => report_damage(context, &damage, as_json),
                None => Err(error.into()),
            };
        }
    };
    if as_json {
        let line = json!({
            "format": 1, "whole": true, "entries": chain.entries, "last_digest": chain.last.to_string(),
            "runs_replayed": runs,
        });
        context.print_json(&line)?;
        return Ok(Status::Fine);
    }
    let page = Page::new()
        .toned(
            Tone::Good,
            format!(
                "Whole: {} entries follow one from the other; runs replayed: {runs}.",
                chain.entries
            ),
        )
        .text(format!("Last digest {}.", chain.last))
        .toned(
            Tone::Quiet,
            "Compare it with one written down earlier: a book cut short at its end, or rewritten to its end, shows only so.",
        );
    context.print_page(&page)?;
    Ok(Status::Fine)
}

fn check(book: &Book, only: Option<&str>) -> Result<(Chain, usize), WalkError> {
    let chain = book.verify_chain()?;
    people_list::verify(book)?;
    let runs = match only {
        Some(id) => vec![book.find_run(id)?],
        None => book.runs()?,
    };
    for run in &runs {
        replay(book, &run.run)?;
    }
    if only.is_none() {
        let names: Vec<String> = runs.iter().map(|r| r.run.clone()).collect();
        if let Some(differs) = accounts::compare(book, &names)? {
            return Err(WalkError::Ledger(differs));
        }
        if let Some(differs) = machines::compare(book, &names)? {
            return Err(WalkError::Ledger(differs));
        }
    }
    Ok((chain, runs.len()))
}

fn report_damage(
    context: &CommandContext,
    damage: &Damage,
    as_json: bool,
) -> Result<Status, Failure> {
    let entry = match damage {
        Damage::Entry { seq, .. } => Some(*seq),
        _ => None,
    };
    if as_json {
        let line = json!({"format": 1, "whole": false, "first_bad_entry": entry, "damage": damage.to_string()});
        context.print_json(&line)?;
        return Ok(Status::Damaged);
    }
    let page = Page::new()
        .toned(Tone::Stop, format!("Damaged: {damage}."))
        .next(
            "Keep the file as it is. `skimgate record export RUN -o FILE` saves what is whole of a run; go on with the last good copy or a new book.",
        );
    context.print_page(&page)?;
    Ok(Status::Damaged)
}
