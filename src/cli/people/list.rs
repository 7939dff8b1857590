//! `skimgate people list`.

use super::super::context::CommandContext;
use super::super::failure::Failure;
use super::super::status::Status;
use super::change::second_owner;
use crate::clock;
use crate::people::{AloneScope, People};
use crate::report::page::{Page, Table, Tone};
use crate::walk::store::people_list;
use serde_json::{Value, json};

/// Everybody on the list, retired ones among them; to standard output.
pub(crate) fn list(context: &CommandContext, as_json: bool) -> Result<Status, Failure> {
    let people = match context.existing_book()? {
        Some(book) => people_list::load(&book)?,
        None => People::default(),
    };
    if as_json {
        let all = people.all().map(|listed| {
            let p = &listed.person;
            let alone = |alone: &AloneScope| match alone {
                AloneScope::All => json!("all"),
                AloneScope::Only(ids) => json!(ids),
            };
            json!({
                "initials": p.initials, "name": p.name,
                "roles": p.roles.iter().map(|r| r.word()).collect::<Vec<_>>(),
                "machines_alone": alone(&p.machines), "procedures_alone": alone(&p.procedures),
                "key": listed.key(), "recovery_code": listed.recovery.is_some(), "since": listed.since.to_string(),
                "retired": listed.retired.map(|at| at.to_string()),
                "rehearsals_wanted": people.required().map_or(0, |r| r.rehearsals),
                "points_wanted": people.required().map_or(0, |r| r.points),
                "scenarios_wanted": people.required().map_or(Vec::new(), |r| {
                    r.scenarios.iter().map(|s| s.title.clone()).collect()
                }),
                "trainer_wanted": people.required().is_some_and(|r| r.trainer),
            })
        });
        let all: Vec<Value> = all.collect();
        context.print_json(&json!({"format": 2, "people": all}))?;
        return Ok(Status::Fine);
    }
    if people.is_empty() {
        let page = Page::new()
            .text("Nobody is registered: sign-offs are by typed initials, and the record says so.")
            .next("`skimgate people add INITIALS --role owner` begins the list.");
        context.print_page(&page)?;
        return Ok(Status::Fine);
    }
    let rows = people.all().map(|l| {
        let p = &l.person;
        let roles: Vec<&str> = p.roles.iter().map(|r| r.word()).collect();
        let day = |at| clock::local(at).chars().take(10).collect::<String>();
        vec![
            p.initials.clone(),
            p.name.clone().unwrap_or_default(),
            roles.join(", "),
            p.machines.words(),
            p.procedures.words(),
            match l.retired {
                Some(at) => format!("retired {}", day(at)),
                None => format!("since {}", day(l.since)),
            },
        ]
    });
    let table = Table {
        head: ["initials", "name", "roles", "machines", "procedures", ""]
            .map(str::to_owned)
            .into(),
        rows: rows.collect(),
        align: Vec::new(),
    };
    let mut page = Page::new()
        .table(table)
        .text("Machines and procedures: those that somebody may run alone.");
    if let Some(wanted) = people.required().filter(|r| r.asks()) {
        page = page.text(format!("{}.", wanted.words()));
    }
    if let Some(text) = second_owner(&people) {
        page = page.toned(Tone::Look, text);
    }
    context.print_page(&page)?;
    Ok(Status::Fine)
}
