//! The events of an answer: what falls by it, the answer, and the reason for a soft limit.

use super::answer::Answer;
use super::event::Event;
use super::falling::shaken_by_now;
use super::instance::Instance;
use super::refusal::Refusal;
use super::state::State;
use crate::procedure::Kind;
use crate::quantity::Quantity;

/// The events of an answer: what falls by it, then itself. An answer given again unchanged voids nothing but what was
/// signed over it, for a signature is over the very askings it saw.
pub(super) fn record(
    state: &State,
    at: &Instance,
    answer: Answer,
    accepted: Option<Event>,
) -> Vec<Event> {
    let before = state.answer(at);
    let unchanged =
        before == Some(&answer) && accepted.is_none() && !state.is_reading_against_zero(at);
    // What rests on an answer that was never given, or that fell, fell with it or was never given.
    let falls: Vec<Instance> = state
        .resting_on(std::slice::from_ref(at))
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
        let again = if before.is_some() {
            "answered again"
        } else {
            "answered"
        };
        events.push(Event::Voided {
            steps: falls,
            because: format!("{title}: {again}"),
        });
    }
    events.push(Event::Answered {
        at: at.clone(),
        answer,
        by: state.operator.clone(),
    });
    events.extend(accepted);
    let shaken = shaken_by_now(state, &events);
    events.extend(shaken);
    events
}

/// The step's quantity as a value in the unit shown; for answers and touches alike.
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
        })),
    }
}
