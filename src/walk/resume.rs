//! Taking a run up again where it was left.

use super::before;
use super::elsewhere::{self, Beside};
use super::error::WalkError;
use super::keyring;
use super::log::{self, Loaded};
use super::pages;
use super::retry;
use super::session::Session;
use super::stopping;
use crate::book::{Book, Claim};
use crate::clock::{self, Clock};
use crate::desk::{Ask, Desk, Part, Taken};
use crate::fingerprint::Fingerprint;
use crate::interlock::answering::initials;
use crate::interlock::{Command, Kept, decide};
use crate::report::page::{Fact, Item, Marker, Page, Tone};
use crate::report::words;
use std::path::PathBuf;

/// Takes a run up again: shows what was answered in the phase at hand, and records who goes on. `None` when the person
/// leaves at the first question.
pub fn resume<'a>(
    run: &str,
    mut book: Book,
    claim: Claim,
    clock: &'a dyn Clock,
    desk: &'a mut dyn Desk,
    folder: PathBuf,
) -> Result<Option<Session<'a>>, WalkError> {
    let mut loaded = log::load(&book, run)?;
    retry::insist(desk, |_| release_falls(&mut loaded, &mut book, clock))?;
    desk.show(&summary(&loaded, clock))?;
    let (by, elsewhere) = loop {
        let Some(by) = who(desk, &loaded.state.operator)? else {
            return Ok(None);
        };
        match keyring::identify(&mut book, desk, clock, &by)? {
            Some(Some(())) => {}
            Some(None) => continue,
            None => return Ok(None),
        }
        match elsewhere::ask(&book, desk, &loaded.state, &by)? {
            Beside::GoesOn(elsewhere) => break (by, elsewhere),
            Beside::No => {}
            Beside::Leaves => return Ok(None),
        }
    };
    let Some(kept) = stopping::kept(desk, &loaded.state)? else {
        return Ok(None);
    };
    let mut session = Session::new(loaded.state, loaded.n, book, claim, clock, desk, folder);
    let from = session.state.operator.clone();
    let from_now = session.desk.origin();
    let events = session.must_carry(&Command::Resume {
        by,
        from: from_now,
        kept,
        elsewhere,
    })?;
    if kept.is_some_and(|kept| kept != Kept::Kept) {
        let page = words::recorded(&events, &session.state);
        session.desk.show(&page)?;
    }
    if session.state.operator != from {
        let text = format!(
            "{} takes over from {from}. {}",
            session.state.operator,
            session.asked_again()
        );
        session.desk.show(&Page::new().toned(Tone::Strong, text))?;
    }
    session.tell_of_second()?;
    session.read_account_again()?;
    session.look_at_service()?;
    Ok(Some(session))
}

/// Says where the files named at this start read otherwise than those that the run began with: it keeps its own.
pub fn tell_of_texts(
    session: &mut Session,
    shop: Option<&Fingerprint>,
    procedure: Option<&Fingerprint>,
) -> Result<(), WalkError> {
    let begun = &session.state.begun;
    let other = |now: Option<&Fingerprint>, then: &Fingerprint| now.is_some_and(|now| now != then);
    let mut items = Vec::new();
    if other(shop, &begun.shop) {
        items.push(Item::toned(
            Tone::Look,
            "The shop file reads otherwise than when this run began, and the run keeps the one of its beginning: machines, plates and cutters added or changed since are not in it.",
        ));
    }
    if other(procedure, &begun.procedure) {
        items.push(Item::toned(
            Tone::Look,
            "The procedure reads otherwise than when this run began, and the run is walked to its end by the one of its beginning.",
        ));
    }
    if items.is_empty() {
        return Ok(());
    }
    let page = Page::new()
        .list(items)
        .next("To go by what is written now, `end` this run and begin another.");
    Ok(session.desk.show(&page)?)
}

/// A release does not outlive the walk that it was given in. That is recorded before anything is asked: until somebody has
/// answered, the record must not say that a start is released to a terminal that is gone.
fn release_falls(loaded: &mut Loaded, book: &mut Book, clock: &dyn Clock) -> Result<(), WalkError> {
    let now = clock.now();
    let events = decide(&loaded.state, now, &Command::FindReleased)
        .map_err(|r| WalkError::Fault(r.words(&loaded.state.show())))?;
    let drafts = log::drafts(&events, now)?;
    let run = loaded.state.begun.run.clone();
    let entries = book.append(&run, loaded.n, &drafts, false)?;
    loaded.n = entries.last().map_or(loaded.n, |e| e.n);
    for event in &events {
        loaded.state.apply(now, event);
    }
    Ok(())
}

fn summary(loaded: &Loaded, clock: &dyn Clock) -> Page {
    let state = &loaded.state;
    let how = state.left.as_deref().unwrap_or("broken off without a word");
    let mut page = Page::new()
        .gap()
        .title(format!(
            "{}, run {}",
            state.procedure.title, state.begun.run
        ))
        .status(
            pages::status(state, clock.now())
                .into_iter()
                .chain([Fact::new("last entry", clock::local(state.latest))]),
        )
        .toned(Tone::Look, format!("It was left: {how}."));
    let next = state.next(clock.now());
    if let crate::interlock::standing::Next::Ask(at, _) = next {
        let phase = state
            .procedure
            .phases
            .iter()
            .find(|p| p.steps.iter().any(|s| s.id == at.step));
        let answered: Vec<Item> = state
            .asked()
            .iter()
            .filter(|p| phase.is_some_and(|ph| ph.id == p.phase.id) && p.pass == at.pass)
            .filter_map(|p| {
                let given = state.answers.get(&p.instance())?;
                let text = format!(
                    "{}: {}",
                    p.step.title,
                    words::answer(&given.answer, &state.show_at(&p.instance()))
                );
                Some(Item::marked(Marker::Done, Tone::Plain, text))
            })
            .collect();
        if !answered.is_empty() {
            page = page.text("Answered in this phase:").list(answered);
        }
    }
    page
}

/// Who goes on with a run; Enter alone is not taken, since it may be somebody else.
fn who(desk: &mut dyn Desk, operator: &str) -> Result<Option<String>, WalkError> {
    let page = Page::new().next(format!(
        "{operator} has this run. Type the initials of whoever is at the control now."
    ));
    desk.show(&page)?;
    loop {
        let Some(said) = before::ask(desk, &Ask::new("initials", "operator", Part::Resume))? else {
            return Ok(None);
        };
        if let Some(found) = initials(&said) {
            desk.taken(Taken::Otherwise)?;
            return Ok(Some(found));
        }
        let why = "initials are one to eight letters or digits";
        desk.show(&Page::new().toned(Tone::Stop, format!("Not taken: {why}.")))?;
        desk.refused(why)?;
    }
}
