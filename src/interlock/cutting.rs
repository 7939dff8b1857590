//! Releasing a cut, starting it, and its end; on a real machine by what only the gate can make.

use super::command::ProgramSeen;
use super::decide::Decided;
use super::event::Event;
use super::gate::{self, Requester};
use super::instance::Instance;
use super::invalidation::{after_lost_position, conditions, void};
use super::refusal::Refusal;
use super::state::State;
use super::stopping::{Cause, CutEnd};
use crate::people::People;
use crate::procedure::Kind;
use crate::quantity::Length;
use crate::quantity::moment::Moment;

/// Releases the cut that is next, for some minutes.
pub(super) fn release(
    state: &State,
    now: Moment,
    program: ProgramSeen,
    people: &People,
) -> Decided {
    let cleared = gate::release(state, now, program, people).map_err(Refusal::Held)?;
    Ok(vec![Event::Released {
        at: cleared.at().clone(),
        until: lapses(state, now, cleared.at())?,
        to: state.operator.clone(),
        digest: cleared.digest(),
    }])
}

/// The same of the practice mill, which releases nothing real.
pub(super) fn practice_release(state: &State, now: Moment, program: ProgramSeen) -> Decided {
    let permitted = gate::practice(state, now, program).map_err(Refusal::Held)?;
    Ok(vec![Event::PracticeReleased {
        at: permitted.at().clone(),
        until: lapses(state, now, permitted.at())?,
        to: state.operator.clone(),
        digest: permitted.digest(),
    }])
}

/// When a release given now lapses.
pub(super) fn lapses(state: &State, now: Moment, at: &Instance) -> Result<Moment, Refusal> {
    state
        .longest_release(at, now)
        .ok_or_else(|| Refusal::NoValue("the release would last too long".to_owned()))
}

/// Cycle start was pressed: the release is spent.
pub(super) fn start(state: &State, now: Moment, program: ProgramSeen, people: &People) -> Decided {
    let cleared =
        gate::start(state, now, program, people, Requester::Holder).map_err(Refusal::Held)?;
    let at = cleared.at().clone();
    Ok(vec![Event::CutStarted {
        plane: plane(state, &at)?,
        at,
        by: state.operator.clone(),
        from: Some(state.origin),
    }])
}

/// A cut that is only assumed, in a run whose answers come from a file.
pub(super) fn assume(state: &State, now: Moment, program: ProgramSeen, people: &People) -> Decided {
    let at = gate::assume(state, now, program, people).map_err(Refusal::Held)?;
    Ok(vec![Event::CutAssumed {
        plane: plane(state, &at)?,
        at,
        by: state.operator.clone(),
    }])
}

/// Cycle start of the practice mill.
pub(super) fn practice_start(state: &State, now: Moment, program: ProgramSeen) -> Decided {
    let permitted = gate::practice_start(state, now, program).map_err(Refusal::Held)?;
    let at = permitted.at().clone();
    Ok(vec![Event::PracticeStarted {
        plane: plane(state, &at)?,
        at,
        by: state.operator.clone(),
        from: Some(state.origin),
    }])
}

/// The height at which the tip travels in a cut.
pub(super) fn plane(state: &State, at: &Instance) -> Result<Length, Refusal> {
    let Some(Kind::Cut { plane, .. }) = state.step(at).map(|s| &s.kind) else {
        return Err(Refusal::NotAsked(at.clone()));
    };
    let plane = state
        .env(at)
        .quantity(plane)
        .map_err(|e| Refusal::NoValue(e.to_string()))?;
    Length::nearest(plane).ok_or_else(|| Refusal::NoValue("the plane is beyond 100 m".to_owned()))
}

/// How the cut ended; one that did not run to its end puts in doubt what was seen before it.
pub(super) fn end_cut(state: &State, how: CutEnd, cause: Cause, said: &str) -> Decided {
    let Some(cutting) = &state.cutting else {
        return Err(Refusal::NoCut);
    };
    let cause = match how {
        CutEnd::Finished => Cause::NotAsked,
        CutEnd::EmergencyStop => Cause::EmergencyStop,
        CutEnd::Stopped if cause == Cause::NotAsked => Cause::NotSaid,
        CutEnd::Stopped => cause,
    };
    let ended = Event::CutEnded {
        at: cutting.at.clone(),
        how: if cause == Cause::EmergencyStop {
            CutEnd::EmergencyStop
        } else {
            how
        },
        cause,
        said: said.to_owned(),
        by: state.operator.clone(),
        from: Some(state.origin),
    };
    let mut events = vec![ended];
    events.extend(after_cut(state, &events, how, cause));
    Ok(events)
}

/// What no longer holds after a cut that ended so, as `events` say.
pub(super) fn after_cut(
    state: &State,
    events: &[Event],
    how: CutEnd,
    cause: Cause,
) -> Option<Event> {
    if cause.loses_position() {
        return after_lost_position(state, cause.because());
    }
    // The position was lost while the cut went on and nobody was there.
    if !state.shaken.is_empty() {
        let mut then = state.clone();
        for event in events {
            then.apply(state.latest, event);
        }
        // What was seen before a cut that is still to be made is seen once more.
        then.cutting = (how != CutEnd::Finished)
            .then(|| state.cutting.clone())
            .flatten();
        return after_lost_position(&then, MEANWHILE);
    }
    if how == CutEnd::Finished {
        return None;
    }
    void(conditions(state), "the cut was stopped before its end")
}

/// Why positions fall that were lost while a cut went on.
const MEANWHILE: &str = "the machine may have lost its position while the run was left";
