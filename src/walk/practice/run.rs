//! One rehearsal from its first question to its end: a run like any other, in the practice book.

use super::prompter::PracticePrompter;
use super::scores::{Rehearsed, Trainer};
use crate::book::Book;
use crate::clock::Clock;
use crate::interlock::answer::Proof;
use crate::interlock::answering::initials;
use crate::interlock::event::{Event, Outcome};
use crate::interlock::signing::second_signers;
use crate::interlock::{Cause, Command, CutEnd, Elsewhere, MachineContinuity};
use crate::keys::Key;
use crate::people::Role;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{Prompter, Question, QuestionPart, Reply};
use crate::walk::error::WalkError;
use crate::walk::prompts::keyring::{self, UnlockOutcome};
use crate::walk::prompts::{Ending, Prompted};
use crate::walk::session::Left;
use crate::walk::session::begin::{self, Start};
use crate::walk::store::log;
use crate::walk::store::people_list;
use crate::walk::store::retry;

/// How a rehearsal ended.
#[derive(Debug)]
pub(crate) struct Ended {
    /// The run's id; none where the person left before there was one.
    pub run: Option<String>,
    /// The initials of the person who had the run at its end.
    pub operator: String,
    /// Whether the walk came to its end.
    pub complete: bool,
    /// Whether it was interrupted.
    pub interrupted: bool,
    /// Whether it went into other hands on the way.
    pub handed_over: bool,
    /// The key of who began it, where people are registered.
    pub key: Option<Key>,
}

/// Most times that a stopped run is taken up again: a person who stops it more often has learnt enough for today.
const STOPS: usize = 20;

/// Walks a rehearsal. `shop_book` is the book with the list of people, where any are registered: then whoever practises types
/// their PIN, and only people on the list practise. A stop is taken up again at once: clearing what it was about is part of the lesson.
///
/// # Errors
/// Those of the walk; the run is ended first.
pub(crate) fn rehearse(
    start: &Start,
    mut book: Book,
    mut shop_book: Option<Book>,
    clock: &dyn Clock,
    prompter: &mut PracticePrompter<'_>,
) -> Result<Ended, WalkError> {
    let none = |operator: String| Ended {
        run: None,
        operator,
        complete: false,
        interrupted: true,
        handed_over: false,
        key: None,
    };
    retry::insist(prompter, |_| end_left(&mut book, clock))?;
    begin::open(prompter, start)?;
    let (operator, key) = match practises(shop_book.as_mut(), clock, prompter) {
        Ok(found) => found,
        Err(Ending::Failed(error)) => return Err(error),
        Err(Ending::Next | Ending::Leave(_)) => return Ok(none(String::new())),
    };
    let (procedure, shop) = (&start.procedure.content, &start.shop.content);
    let machine = match begin::machine(prompter, procedure, shop) {
        Ok(machine) => machine,
        Err(Ending::Failed(error)) => return Err(error),
        Err(Ending::Next | Ending::Leave(_)) => return Ok(none(operator)),
    };
    let claim = book.claim(&machine, &clock.now().to_string())?;
    let mut session = begin::begin(
        start,
        machine,
        (operator, Elsewhere::default()),
        book,
        claim,
        clock,
        prompter,
    )?;
    session.shop_book = shop_book;
    let run = session.state.begun.run.clone();
    let mut stops = 0;
    let left = loop {
        match session.run() {
            Ok(Left::Stopped) if stops < STOPS => {
                stops += 1;
                let text = "Clear what it was about, at the mill. The run is taken up again now.";
                session
                    .prompter
                    .show(&Page::new().gap().toned(Tone::Look, text))?;
                let by = session.state.operator.clone();
                let from = session.prompter.origin();
                session.must_commit(&Command::Resume {
                    by,
                    from,
                    // Who practises stays at the practice mill.
                    kept: Some(MachineContinuity::Kept),
                    elsewhere: Elsewhere::default(),
                })?;
            }
            // The next rehearsal ends what this one cannot.
            Err(error @ WalkError::GivenUp(_)) => return Err(error),
            other => break other,
        }
    };
    let over = session.state.ended.is_some();
    if !over {
        if session.state.cutting.is_some() {
            session.must_commit(&Command::EndCut {
                how: CutEnd::Stopped,
                cause: Cause::Planned,
                said: "the rehearsal was left".to_owned(),
            })?;
        }
        let outcome = Outcome::Abandoned;
        session.must_commit(&Command::End { outcome })?;
    }
    let operator = session.state.operator.clone();
    let loaded = log::load(&session.book, &run)?;
    let left = left?;
    Ok(Ended {
        run: Some(run),
        operator,
        complete: left == Left::Complete,
        interrupted: left == Left::Saved,
        handed_over: loaded
            .events
            .iter()
            .any(|s| matches!(s.event, Event::HandedOver { .. })),
        key,
    })
}

/// Who practises, and their key where people are registered.
fn practises(
    mut shop_book: Option<&mut Book>,
    clock: &dyn Clock,
    prompter: &mut dyn Prompter,
) -> Prompted<(String, Option<Key>)> {
    loop {
        let operator = begin::operator(prompter)?;
        let Some(book) = shop_book.as_deref_mut() else {
            return Ok((operator, None));
        };
        let mut people = people_list::load(book)?;
        let unlocked = keyring::unlock(book, &mut people, prompter, clock, &operator)?;
        if let Some(key) = unlocked.key_or_leave()? {
            return Ok((operator, Some(key)));
        }
    }
}

/// Asks which trainer was beside, who signs for the rehearsal with their key; none where nobody does.
///
/// # Errors
/// Those of desk and book.
pub(crate) fn trainer(
    rehearsed: &Rehearsed,
    shop_book: &mut Book,
    clock: &dyn Clock,
    prompter: &mut dyn Prompter,
) -> Result<Option<Trainer>, WalkError> {
    let page = Page::new().gap().next(
        "A trainer who was beside looks at the debrief and types their initials, then their PIN. Enter alone where nobody was: then it does not count as practice.",
    );
    prompter.show(&page)?;
    loop {
        let part = QuestionPart::Initials(Some(Role::Trainer.word().to_owned()));
        let said = match prompter.ask(&Question::new("trainer", "trainer", part))? {
            Reply::Said(said) if said.trim().is_empty() => return Ok(None),
            Reply::Said(said) => said,
            Reply::Interrupted | Reply::Closed => return Ok(None),
        };
        let mut people = people_list::load(shop_book)?;
        let role = |who: &String| people.active(who)?.person.at_least(Role::Trainer);
        let found = initials(&said).filter(|who| *who != rehearsed.operator);
        let Some((who, role)) = found.and_then(|who| role(&who).map(|role| (who, role))) else {
            let why = format!(
                "that is not {} on the list of people, and somebody else than {}",
                second_signers(Role::Trainer),
                rehearsed.operator
            );
            prompter.show(&Page::new().toned(Tone::Stop, format!("Not taken: {why}.")))?;
            prompter.refused(&why)?;
            continue;
        };
        match keyring::unlock(shop_book, &mut people, prompter, clock, &who)? {
            UnlockOutcome::Key(key) => {
                let proof = Proof {
                    key: key.public(),
                    signature: key.sign(&rehearsed.text_to_sign(&who)),
                    role: Some(role),
                };
                return Ok(Some(Trainer {
                    initials: who,
                    proof,
                }));
            }
            UnlockOutcome::No | UnlockOutcome::Shut => {}
            UnlockOutcome::Interrupted | UnlockOutcome::Closed => return Ok(None),
        }
    }
}

/// Ends practice runs that were broken off without a word: their mill is gone.
fn end_left(book: &mut Book, clock: &dyn Clock) -> Result<(), WalkError> {
    for run in book.open_runs()? {
        // Another terminal may be practising just now; its run is its own.
        let Ok(_claim) = book.claim(&run.machine, &clock.now().to_string()) else {
            continue;
        };
        let loaded = log::load(book, &run.run)?;
        let event = Event::Ended {
            outcome: Outcome::Abandoned,
            by: loaded.state.operator.clone(),
            from: Some(loaded.state.origin),
        };
        let drafts = log::drafts(&[event], clock.now())?;
        book.append(&run.run, loaded.n, &drafts, true)?;
    }
    Ok(())
}
