//! The events of an answer: what it invalidates, the answer, and the reason for a soft limit.

use super::answer::Answer;
use super::event::Event;
use super::instance::Instance;
use super::invalidation::already_suspect;
use super::refusal::Refusal;
use super::state::State;
use crate::procedure::Kind;
use crate::quantity::Quantity;

/// The events of an answer: first what it invalidates, then the answer itself. An unchanged answer invalidates only the
/// sign-offs over it, because a signature covers exactly the answers that the signer saw.
pub(super) fn record(
    state: &State,
    at: &Instance,
    answer: Answer,
    accepted: Option<Event>,
) -> Vec<Event> {
    let unchanged = state
        .answer(at)
        .is_some_and(|old| old.says_the_same(&answer))
        && accepted.is_none()
        && !state.is_reading_against_zero(at);
    let again = match state.answer(at) {
        Some(_) => "answered again",
        None => "answered",
    };
    events(state, at, (answer, accepted), unchanged, again)
}

/// As [`record`], for an answer about something done at the machine or taken from the shop (homed, clamped, a cutter
/// put in). If the previous answer was still valid (`held`), answering again means that the work was done again, so
/// what depends on it becomes invalid even if the word is the same. If the question came again because the answer was
/// stale or the operator changed, nothing was done again.
pub(super) fn record_done_anew(state: &State, at: &Instance, word: &str, held: bool) -> Vec<Event> {
    let answer = Answer::Word(word.to_owned());
    if held && state.answer(at) == Some(&answer) {
        events(state, at, (answer, None), false, "done again")
    } else {
        record(state, at, answer, None)
    }
}

fn events(
    state: &State,
    at: &Instance,
    (answer, accepted): (Answer, Option<Event>),
    unchanged: bool,
    again: &str,
) -> Vec<Event> {
    // Nothing can depend on an answer that was never given. If the answer is invalid, what depended on it is invalid
    // already.
    let falls: Vec<Instance> = state
        .depending_on(std::slice::from_ref(at))
        .into_iter()
        .filter(|of| {
            let signs = state
                .step(of)
                .is_some_and(|s| matches!(s.kind, Kind::Sign { .. }));
            !unchanged || signs
        })
        .collect();
    let mut events = Vec::new();
    if !falls.is_empty() {
        let title = state
            .step(at)
            .map_or(at.step.as_str(), |s| s.title.as_str());
        events.push(Event::Voided {
            steps: falls,
            because: format!("{title}: {again}"),
        });
    }
    events.push(Event::Answered {
        at: at.clone(),
        answer,
        by: state.operator.clone(),
        from: Some(state.origin),
        seen: None,
    });
    events.extend(accepted);
    let shaken = already_suspect(state, &events);
    events.extend(shaken);
    events
}

/// Checks a step's quantity against its limits, for answers and touches alike, and returns the event that accepts a
/// value outside a soft limit, where there is one.
pub(super) fn accept(
    state: &State,
    at: &Instance,
    limits: &crate::procedure::Limits,
    value: Quantity,
    reason: Option<&str>,
) -> Result<Option<Event>, Refusal> {
    let (must, expect) = state
        .judge(at, limits, value)
        .map_err(|e| Refusal::NoValue(e.to_string()))?;
    if let Some(broken) = must {
        return Err(Refusal::Hard(Box::new(broken)));
    }
    match (expect, reason.map(str::trim).filter(|r| !r.is_empty())) {
        (None, _) => Ok(None),
        (Some(broken), None) => Err(Refusal::Soft(Box::new(broken))),
        (Some(broken), Some(reason)) => Ok(Some(Event::Accepted {
            at: at.clone(),
            limit: broken.limit_words(&state.show_at(at)),
            reason: reason.to_owned(),
            by: state.operator.clone(),
            from: Some(state.origin),
        })),
    }
}
