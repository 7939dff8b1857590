//! One rehearsal from its first question to its end: a run like any other, in the practice book.

use super::super::begin::{self, Start};
use super::super::error::WalkError;
use super::super::log;
use super::super::session::Left;
use super::desk::PracticeDesk;
use crate::book::Book;
use crate::clock::Clock;
use crate::interlock::event::{Event, Outcome};
use crate::interlock::{Cause, Command, CutEnd, Elsewhere, Kept};
use crate::report::page::{Page, Tone};

/// How a rehearsal ended.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ended {
    /// The run's id; none where the person left before there was one.
    pub run: Option<String>,
    /// Who.
    pub operator: String,
    /// Whether the walk came to its end.
    pub complete: bool,
    /// Whether it was interrupted.
    pub interrupted: bool,
}

/// Most times that a stopped run is taken up again: a person who stops it more often has learnt enough for today.
const STOPS: usize = 20;

/// Walks a rehearsal. A stop is taken up again at once: clearing what it was about is part of the lesson.
///
/// # Errors
/// Those of the walk; the run is ended first.
pub fn rehearse(
    start: &Start,
    mut book: Book,
    clock: &dyn Clock,
    desk: &mut PracticeDesk<'_>,
) -> Result<Ended, WalkError> {
    let none = |operator: String| Ended {
        run: None,
        operator,
        complete: false,
        interrupted: true,
    };
    end_left(&mut book, clock)?;
    let Some(operator) = begin::operator(desk)? else {
        return Ok(none(String::new()));
    };
    let (procedure, shop) = (&start.procedure.content, &start.shop.content);
    let Some(machine) = begin::machine(desk, procedure, shop)? else {
        return Ok(none(operator));
    };
    let claim = book.claim(&machine, &clock.now().to_string())?;
    let mut session = begin::begin(
        start,
        machine,
        (operator, Elsewhere::default()),
        book,
        claim,
        clock,
        desk,
    )?;
    let run = session.state.begun.run.clone();
    let mut stops = 0;
    let left = loop {
        match session.run() {
            Ok(Left::Stopped) if stops < STOPS => {
                stops += 1;
                let text = "Clear what it was about, at the mill. The run is taken up again now.";
                session
                    .desk
                    .show(&Page::new().gap().toned(Tone::Look, text))?;
                let by = session.state.operator.clone();
                let from = session.desk.origin();
                session.must_carry(&Command::Resume {
                    by,
                    from,
                    // Who practises stays at the practice mill.
                    kept: Some(Kept::Kept),
                    elsewhere: Elsewhere::default(),
                })?;
            }
            other => break other,
        }
    };
    let over = session.state.ended.is_some();
    if !over {
        if session.state.cutting.is_some() {
            session.must_carry(&Command::EndCut {
                how: CutEnd::Stopped,
                cause: Cause::Planned,
                said: "the rehearsal was left".to_owned(),
            })?;
        }
        let outcome = Outcome::Abandoned;
        session.must_carry(&Command::End { outcome })?;
    }
    let operator = session.state.operator.clone();
    let left = left?;
    Ok(Ended {
        run: Some(run),
        operator,
        complete: left == Left::Complete,
        interrupted: left == Left::Saved,
    })
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
