//! Who has the run: handing it over, resuming it, taking it over, and stopping.

use super::answer::{Origin, Proof};
use super::cutting::after_cut;
use super::decide::Decided;
use super::elsewhere::{self, Elsewhere};
use super::event::Event;
use super::invalidation::{after_lost_position, sign_again};
use super::refusal::Refusal;
use super::state::State;
use super::stopping::{Cause, CutEnd, MachineContinuity};
use crate::people::{People, Role};

/// Why a sign-off becomes invalid whose release was given at a terminal that no longer exists.
pub(crate) const RELEASE_GONE: &str = "the terminal that had the release is gone";

/// Begins a run whose operator has other open runs.
pub(super) fn begin_beside(state: &State, elsewhere: &Elsewhere) -> Decided {
    let also = elsewhere::person(state, &state.operator, elsewhere, state.origin)?;
    Ok(also.into_iter().collect())
}

/// Hands the run over to `to`. `elsewhere` holds the other open runs of that person.
pub(super) fn hand_over(state: &State, to: &str, elsewhere: &Elsewhere) -> Decided {
    let to = super::answering::initials(to).ok_or(Refusal::NoInitials)?;
    let also = elsewhere::person(state, &to, elsewhere, state.origin)?;
    let mut events = into_hands_of(state, to, state.origin);
    events.extend(also);
    Ok(events)
}

/// The events of a handover: what was signed must be signed again, and what is asked of the person is asked again.
/// `origin` is where the request comes from.
fn into_hands_of(state: &State, to: String, origin: Origin) -> Vec<Event> {
    let mut events = vec![Event::HandedOver {
        from: state.operator.clone(),
        to,
        origin: Some(origin),
    }];
    let because = format!("the run was handed over by {}", state.operator);
    events.extend(sign_again(state, &because));
    events
}

/// Resumes a run that was left, by a person or by a crash.
pub(super) fn resume(
    state: &State,
    by: &str,
    from: Origin,
    kept: Option<MachineContinuity>,
    elsewhere: &Elsewhere,
) -> Decided {
    // A file cannot say how a cut ended that a person started at the machine.
    if from == Origin::AnswersFile && state.cutting.is_some() && !state.from_file {
        return Err(Refusal::CutUnderWay);
    }
    let kept = require_continuity(state, kept)?;
    let also = elsewhere::person(state, by, elsewhere, from)?;
    let mut events = vec![Event::Resumed {
        by: by.to_owned(),
        after_crash: state.left.is_none(),
        from: Some(from),
        kept,
    }];
    if by != state.operator {
        let to = super::answering::initials(by);
        events.extend(to.map_or_else(Vec::new, |to| into_hands_of(state, to, from)));
    } else if state.cutting.is_none() {
        // The operator was away from the machine, even if it is the same person, so what was signed must be checked and
        // signed again. The sign-off of a cut under way is already used.
        events.extend(sign_again(state, "the run was taken up again"));
    }
    events.extend(also);
    events.extend(lost_meanwhile(state, kept));
    Ok(events)
}

/// The answer about the machine. It is required where the run has something to lose.
fn require_continuity(
    state: &State,
    kept: Option<MachineContinuity>,
) -> Result<Option<MachineContinuity>, Refusal> {
    match kept {
        _ if !state.has_positions() => Ok(None),
        None => Err(Refusal::KeptNotSaid),
        some => Ok(some),
    }
}

/// What becomes invalid where the machine did not stay as it was. While a cut is under way this waits until its end is
/// recorded: until then the plane and the heights are those that the cut was made with.
fn lost_meanwhile(state: &State, kept: Option<MachineContinuity>) -> Option<Event> {
    let because = kept?.because()?;
    if state.cutting.is_some() {
        return None;
    }
    after_lost_position(state, because)
}

/// Invalidates the sign-off of a release that was found in a run without a terminal, before the next operator is known.
pub(super) fn find_released(state: &State) -> Vec<Event> {
    if state.release.is_none() {
        return Vec::new();
    }
    sign_again(state, RELEASE_GONE).into_iter().collect()
}

/// An owner takes the run over from its operator, with a signature.
pub(super) fn take_over(
    state: &State,
    (by, signature): (&str, &str),
    people: &People,
    kept: Option<MachineContinuity>,
    elsewhere: &Elsewhere,
) -> Decided {
    let key = people.active(by).and_then(|l| l.key());
    let proof = Proof {
        key: key.unwrap_or_default().to_owned(),
        signature: signature.to_owned(),
        role: Some(Role::Owner),
    };
    let list = Some(people.digest());
    state
        .check_taken_over(by, &proof, list, people)
        .map_err(Refusal::Unsigned)?;
    let kept = require_continuity(state, kept)?;
    let also = elsewhere::person(state, by, elsewhere, Origin::Terminal)?;
    let mut events = vec![Event::TakenOver {
        from: state.operator.clone(),
        by: by.to_owned(),
        proof,
        list,
        kept,
    }];
    if by != state.operator {
        let to = super::answering::initials(by).ok_or(Refusal::NoInitials)?;
        events.extend(into_hands_of(state, to, Origin::Terminal));
    } else if state.cutting.is_none() {
        events.extend(sign_again(state, "the run was taken over"));
    }
    events.extend(also);
    events.extend(lost_meanwhile(state, kept));
    Ok(events)
}

/// Stops: a cut under way ends. The stop is recorded before the cause is asked.
pub(super) fn stop(state: &State, cause: Cause, reason: &str) -> Vec<Event> {
    let cause = match cause {
        Cause::NotAsked => Cause::NotSaid,
        cause => cause,
    };
    let mut events = vec![Event::Stopped {
        by: state.operator.clone(),
        cause,
        reason: reason.to_owned(),
        from: Some(state.origin),
    }];
    let falls = if let Some(cutting) = &state.cutting {
        let how = match cause {
            Cause::EmergencyStop => CutEnd::EmergencyStop,
            _ => CutEnd::Stopped,
        };
        events.push(Event::CutEnded {
            at: cutting.at.clone(),
            how,
            cause,
            said: reason.to_owned(),
            by: state.operator.clone(),
            from: Some(state.origin),
        });
        after_cut(state, &events, how, cause)
    } else if cause.loses_position() {
        after_lost_position(state, cause.because())
    } else {
        sign_again(state, "the stop word was given")
    };
    events.extend(falls);
    events
}

/// Records the cause of a stop, after the stop itself was recorded.
pub(super) fn explain_stop(state: &State, cause: Cause, said: &str) -> Decided {
    if state.open_stop.is_none() || !cause.is_said() {
        return Err(Refusal::NoStop);
    }
    let mut events = vec![Event::StopExplained {
        cause,
        said: said.to_owned(),
        by: state.operator.clone(),
        from: Some(state.origin),
    }];
    if cause.loses_position() {
        events.extend(after_lost_position(state, cause.because()));
    }
    Ok(events)
}
