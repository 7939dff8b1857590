//! Releasing a cut, starting it, and ending it. On a real machine this needs a permission that only the gate can make.

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

/// Releases the next cut, for some minutes.
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

/// Releases the next cut on the practice mill, which is no real machine.
pub(super) fn practice_release(state: &State, now: Moment, program: ProgramSeen) -> Decided {
    let permitted = gate::practice(state, now, program).map_err(Refusal::Held)?;
    Ok(vec![Event::PracticeReleased {
        at: permitted.at().clone(),
        until: lapses(state, now, permitted.at())?,
        to: state.operator.clone(),
        digest: permitted.digest(),
    }])
}

/// The time at which a release given now lapses.
pub(super) fn lapses(state: &State, now: Moment, at: &Instance) -> Result<Moment, Refusal> {
    state
        .longest_release(at, now)
        .ok_or_else(|| Refusal::NoValue("the release would last too long".to_owned()))
}

/// Records that cycle start was pressed. This uses up the release.
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

/// Records a cut as assumed, in a run whose answers come from a file.
pub(super) fn assume(state: &State, now: Moment, program: ProgramSeen, people: &People) -> Decided {
    let at = gate::assume(state, now, program, people).map_err(Refusal::Held)?;
    Ok(vec![Event::CutAssumed {
        plane: plane(state, &at)?,
        at,
        by: state.operator.clone(),
    }])
}

/// Records cycle start on the practice mill.
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

/// Records how the cut ended. If it did not run to its end, what was checked before it becomes invalid.
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

/// What becomes invalid after a cut whose end `events` record.
pub(super) fn after_cut(
    state: &State,
    events: &[Event],
    how: CutEnd,
    cause: Cause,
) -> Option<Event> {
    if cause.loses_position() {
        return after_lost_position(state, cause.because());
    }
    // The machine may have lost its position while the cut went on and the run was left.
    if !state.shaken.is_empty() {
        let mut then = state.clone();
        for event in events {
            then.apply(state.latest, event);
        }
        // The cut is still to be made, so the conditions before it are checked again.
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

/// Why positions become invalid that may have been lost while a cut went on.
const MEANWHILE: &str = "the machine may have lost its position while the run was left";
