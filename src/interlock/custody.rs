//! Who has the run: handing it over, taking it up again or over, and stopping.

use super::answer::{Origin, Proof};
use super::decide::Decided;
use super::event::Event;
use super::falling::{after_emergency_stop, conditions, sign_again, void};
use super::refusal::Refusal;
use super::state::State;
use crate::people::{People, Role};
use crate::procedure::model::{EMERGENCY_STOP, STOPPED};

/// Why a sign-off falls whose release was given at a terminal that is gone.
pub const RELEASE_GONE: &str = "the terminal that had the release is gone";

/// Into other hands: what was signed is signed again, and what is asked of the person is asked of the next.
pub(super) fn hand_over(state: &State, to: &str) -> Decided {
    let to = super::answering::initials(to).ok_or(Refusal::NoInitials)?;
    let mut events = vec![Event::HandedOver {
        from: state.operator.clone(),
        to,
    }];
    let because = format!("the run was handed over by {}", state.operator);
    events.extend(sign_again(state, &because));
    Ok(events)
}

/// Going on with a run that was left, or that a crash left.
pub(super) fn resume(state: &State, by: &str, from: Origin) -> Decided {
    // A file cannot say how a cut ended that a person started at the machine.
    if from == Origin::AnswersFile && state.cutting.is_some() && !state.from_file {
        return Err(Refusal::CutUnderWay);
    }
    let mut events = vec![Event::Resumed {
        by: by.to_owned(),
        after_crash: state.left.is_none(),
        from: Some(from),
    }];
    if by != state.operator {
        events.extend(hand_over(state, by).unwrap_or_default());
    } else if state.cutting.is_none() {
        // Who goes on was away from the machine, even if it is the same person: what was signed is looked at anew. The
        // sign-off of a cut under way is spent.
        events.extend(sign_again(state, "the run was taken up again"));
    }
    Ok(events)
}

/// A release found in a run that no terminal walks falls with its sign-off, before anybody says who they are.
pub(super) fn find_released(state: &State) -> Vec<Event> {
    if state.release.is_none() {
        return Vec::new();
    }
    sign_again(state, RELEASE_GONE).into_iter().collect()
}

/// An owner takes the run from whoever has it, with their signature.
pub(super) fn take_over(state: &State, by: &str, signature: &str, people: &People) -> Decided {
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
    let mut events = vec![Event::TakenOver {
        from: state.operator.clone(),
        by: by.to_owned(),
        proof,
        list,
    }];
    if by != state.operator {
        events.extend(hand_over(state, by)?);
    } else if state.cutting.is_none() {
        events.extend(sign_again(state, "the run was taken over"));
    }
    Ok(events)
}

/// The stop word, or the emergency stop: it ends a cut under way.
pub(super) fn stop(state: &State, emergency: bool, reason: &str) -> Vec<Event> {
    let mut events = vec![Event::Stopped {
        by: state.operator.clone(),
        emergency,
        reason: reason.to_owned(),
    }];
    if let Some(cutting) = &state.cutting {
        events.push(Event::CutEnded {
            at: cutting.at.clone(),
            how: if emergency { EMERGENCY_STOP } else { STOPPED }.to_owned(),
            by: state.operator.clone(),
            from: Some(state.origin),
        });
    }
    let falls = if emergency {
        after_emergency_stop(state)
    } else if state.cutting.is_some() {
        void(conditions(state), "the cut was stopped before its end")
    } else {
        sign_again(state, "the stop word was given")
    };
    events.extend(falls);
    events
}
