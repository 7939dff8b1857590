//! Ids of machines and procedures that somebody is let run alone, looked at for slips: a misspelt one lets nobody do
//! anything, and shows only at the hold point.

use crate::book::Book;
use crate::cli::context::CommandContext;
use crate::cli::failure::Failure;
use crate::cli::files;
use crate::diagnostics::nearest::nearest;
use crate::interlock::Event as OfRun;
use crate::people::{AloneScope, Person};
use crate::procedure::ShopList;
use std::collections::BTreeSet;

/// Runs that are looked at for the procedures they were of, the latest first.
const RUNS: usize = 50;

/// Ids that are known here: of the built-in files, and of runs in the book.
#[derive(Debug)]
pub(crate) struct KnownIds {
    machines: BTreeSet<String>,
    procedures: BTreeSet<String>,
}

impl KnownIds {
    /// Looks them up.
    pub(crate) fn of(book: &Book, context: &CommandContext) -> Result<Self, Failure> {
        let shop = files::shop(None, context)?.content;
        let machines = shop.items(ShopList::Machines).iter().map(|m| m.id.clone());
        let mut known = Self {
            machines: machines.collect(),
            procedures: BTreeSet::from([files::procedure(None, context)?.content.id.clone()]),
        };
        let runs = book.runs()?;
        known
            .machines
            .extend(runs.iter().map(|run| run.machine.clone()));
        for run in runs.iter().rev().take(RUNS) {
            let entries = book.entries(&run.run)?;
            let first = entries.first().map(|e| serde_json::from_str(&e.body));
            if let Some(Ok(OfRun::Began(began))) = first {
                known.procedures.insert(began.procedure_id);
            }
        }
        Ok(known)
    }

    /// What is said of ids of a person that nothing here knows.
    pub(crate) fn strange(&self, person: &Person) -> Vec<String> {
        let of = |kind: &str, option: &str, alone: &AloneScope, known: &BTreeSet<String>| {
            let AloneScope::Only(ids) = alone else {
                return Vec::new();
            };
            let unknown = ids.iter().filter(|id| !known.contains(*id));
            unknown
                .map(|id| {
                    let near = nearest(id, known.iter().map(String::as_str));
                    let near = near.map_or(String::new(), |n| format!(" Did you mean `{n}`?"));
                    format!(
                        "`{id}`: no {kind} of that id is built in, and no run in this book had one.{near} If it is a slip: `skimgate people change {} {option} IDS`.",
                        person.initials
                    )
                })
                .collect()
        };
        let mut said = of("machine", "--machines", &person.machines, &self.machines);
        let procedures = &person.procedures;
        said.extend(of(
            "procedure",
            "--procedures",
            procedures,
            &self.procedures,
        ));
        said
    }
}
