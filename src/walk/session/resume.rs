//! Taking a run up again where it was left.

use crate::book::{Book, Claim};
use crate::clock::{self, Clock};
use crate::fingerprint::Fingerprint;
use crate::interlock::{Command, MachineContinuity, decide};
use crate::report::page::{Item, Marker, Page, PageFact, Tone};
use crate::report::words;
use crate::terminal::prompt::{Prompter, QuestionPart};
use crate::walk::error::WalkError;
use crate::walk::prompts::answers::OPERATOR;
use crate::walk::prompts::keyring;
use crate::walk::prompts::{BeforeRun, Prompted, kit};
use crate::walk::session::Session;
use crate::walk::session::elsewhere;
use crate::walk::session::pages;
use crate::walk::session::stopping;
use crate::walk::store::log::{self, Loaded};
use crate::walk::store::retry;
use std::path::PathBuf;

/// The words that begin another run, where one run is open and nobody was asked which to take up.
const NEW_RUN: &str = "new run";

/// Takes a run up again: shows what was answered in the phase at hand, and records who goes on; the person may leave
/// before that. None where another run is to begin, which is offered where the run is the `only` one open.
pub(crate) fn resume<'a>(
    run: &str,
    mut book: Book,
    claim: Claim,
    clock: &'a dyn Clock,
    prompter: &'a mut dyn Prompter,
    folder: PathBuf,
    only: bool,
) -> Prompted<Option<Session<'a>>> {
    let mut loaded = log::load(&book, run)?;
    loaded.state.one_unit = true;
    retry::insist(prompter, |_| end_old_release(&mut loaded, &mut book, clock))?;
    prompter.show(&summary(&loaded, clock))?;
    let (by, elsewhere) = loop {
        let Some(by) = who(prompter, &loaded.state.operator, only)? else {
            return Ok(None);
        };
        if !keyring::identify(&mut book, prompter, clock, &by)? {
            continue;
        }
        if let Some(elsewhere) = elsewhere::ask(&book, prompter, &loaded.state, &by)? {
            break (by, elsewhere);
        }
    };
    let kept = stopping::ask_continuity(prompter, &loaded.state)?;
    let mut session = Session::new(loaded.state, loaded.n, book, claim, clock, prompter, folder);
    let from = session.state.operator.clone();
    let from_now = session.prompter.origin();
    let events = session.must_commit(&Command::Resume {
        by,
        from: from_now,
        kept,
        elsewhere,
    })?;
    if kept.is_some_and(|kept| kept != MachineContinuity::Kept) {
        let page = words::recorded(&events, "", &session.state);
        session.prompter.show(&page)?;
    }
    if session.state.operator != from {
        let text = format!(
            "{} takes over from {from}. {}",
            session.state.operator,
            session.asked_again()
        );
        session
            .prompter
            .show(&Page::new().toned(Tone::Strong, text))?;
    }
    session.show_second_signer()?;
    session.read_account_again()?;
    session.look_at_service()?;
    Ok(Some(session))
}

/// Says where the files named at this start read otherwise than those that the run began with: it keeps its own.
pub(crate) fn show_changed_texts(
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
    Ok(session.prompter.show(&page)?)
}

/// A release does not outlive the walk that it was given in. That is recorded before anything is asked: until somebody has
/// answered, the record must not say that a start is released to a terminal that is gone.
fn end_old_release(
    loaded: &mut Loaded,
    book: &mut Book,
    clock: &dyn Clock,
) -> Result<(), WalkError> {
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
            pages::status(state, None, clock.now())
                .into_iter()
                .chain([PageFact::new("last entry", clock::local(state.latest))]),
        )
        .toned(Tone::Look, format!("It was left: {how}."));
    let next = state.next(clock.now());
    if let crate::interlock::answer_status::Next::Ask(at, _) = next {
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

/// Who goes on with a run; Enter alone is not taken, since it may be somebody else. None for another run, where `only` one is
/// open.
fn who(prompter: &mut dyn Prompter, operator: &str, only: bool) -> Prompted<Option<String>> {
    let other = if only {
        format!(" For a run on another machine, type `{NEW_RUN}`.")
    } else {
        String::new()
    };
    let page = Page::new().next(format!(
        "{operator} has this run. To walk on, type the initials of the person at the control now.{other}"
    ));
    prompter.show(&page)?;
    let mut asker = BeforeRun::new(prompter, OPERATOR);
    if only {
        asker = asker.offering([NEW_RUN]);
    }
    kit::until(&mut asker, "initials", &QuestionPart::Resume, |said| {
        if only && said.eq_ignore_ascii_case(NEW_RUN) {
            return Ok(None);
        }
        kit::read_initials(said).map(Some)
    })
}
