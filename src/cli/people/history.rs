//! `skimgate people history`: everything that happened to the list, wrong PINs among it.

use super::super::context::CommandContext;
use super::super::failure::Failure;
use super::super::status::Status;
use crate::clock;
use crate::people::{Event, Person};
use crate::report::page::{Item, Page, Tone};
use crate::walk::store::people_list;
use serde_json::{Value, json};

/// Every entry of the list in its order; to standard output.
pub(crate) fn history(context: &CommandContext, as_json: bool) -> Result<Status, Failure> {
    let entries = match context.existing_book()? {
        Some(book) => people_list::entries(&book)?,
        None => Vec::new(),
    };
    if as_json {
        let all = entries.iter().map(|(at, signed)| {
            json!({
                "at": at.to_string(), "by": signed.by, "told": whole(&signed.event),
                "entry": signed.event,
            })
        });
        let all: Vec<Value> = all.collect();
        context.print_json(&json!({"format": 2, "entries": all}))?;
        return Ok(Status::Fine);
    }
    if entries.is_empty() {
        context.print_page(&Page::new().text("Nobody was ever registered in this book."))?;
        return Ok(Status::Fine);
    }
    let items = entries.iter().map(|(at, signed)| {
        let tone = match signed.event {
            Event::WrongPin { .. } | Event::WrongCode { .. } => Tone::Stop,
            _ => Tone::Plain,
        };
        let by = match &signed.by {
            Some(by) => format!(" Signed by {by}."),
            None => String::new(),
        };
        let text = format!("{}  {}{by}", clock::local(*at), whole(&signed.event));
        Item::toned(tone, text)
    });
    context.print_page(&Page::new().list(items))?;
    Ok(Status::Fine)
}

/// An entry in words.
pub(crate) fn words(event: &Event) -> String {
    match event {
        Event::Added { person, .. } => format!("{} is on the list.", person.initials),
        Event::Changed { person, .. } => format!("{} is changed.", person.initials),
        Event::Retired { initials } => format!("{initials} is retired and signs no more."),
        Event::KeyIssued { initials, .. } => format!("{initials} has a new key."),
        Event::Required { practice } => format!("{}.", practice.words()),
        Event::RecoveryMade { initials, .. } => format!("{initials} has a new recovery code."),
        Event::Recovered { initials, .. } => {
            format!("{initials} has a new key, by the recovery code, and a new recovery code.")
        }
        Event::WrongPin { initials } => format!("A wrong PIN for {initials}."),
        Event::WrongCode { initials } => format!("A wrong recovery code for {initials}."),
        Event::WaitRestarted { initials } => format!(
            "The clock stood before the last wrong PIN for {initials}; the wait began anew."
        ),
        Event::Unlocked { initials } => format!("The key of {initials} was opened."),
    }
}

/// The same with what the person was allowed by it.
fn whole(event: &Event) -> String {
    let text = words(event);
    match event {
        Event::Added { person, .. } | Event::Changed { person, .. } => {
            format!("{text} {}.", stands(person))
        }
        _ => text,
    }
}

/// What somebody may: `Operator, trainer; alone on machines: all, procedures: none`.
fn stands(person: &Person) -> String {
    let roles: Vec<&str> = person.roles.iter().map(|r| r.word()).collect();
    format!(
        "Roles: {}; alone on machines: {}, procedures: {}",
        roles.join(", "),
        person.machines.words(),
        person.procedures.words()
    )
}
