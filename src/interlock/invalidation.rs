//! What becomes invalid without a new answer: when the machine may have lost its position, after a stopped cut, and
//! when the program, the list of people or the plate's account changes.

use super::command::ProgramSeen;
use super::event::{Event, PlateKnown};
use super::instance::Instance;
use super::sequence::SequencePosition;
use super::signing::SignFault;
use super::state::State;
use crate::people::People;
use crate::procedure::{Kind, Options, ShopList};

impl State {
    /// What becomes invalid when the machine may have lost its position: the steps that the procedure marks, heights
    /// and entries, as far as they are answered and a cut is still to come.
    pub(super) fn positions(&self) -> Vec<Instance> {
        let mut found = self.all_positions();
        found.retain(|at| !self.is_history(at));
        found
    }

    fn all_positions(&self) -> Vec<Instance> {
        self.sequence()
            .iter()
            .filter(|p| self.depends_on_position(p.step))
            .map(SequencePosition::instance)
            .filter(|at| self.answers.contains_key(at) || self.is_half_answered(at))
            .collect()
    }

    /// Whether anything depends on the machine's position or on how long it ran, so that a person who resumes the run must
    /// say whether the machine stayed as it was. This counts even when no cut is to come now, because the next inspection
    /// may lead to one.
    pub(crate) fn has_positions(&self) -> bool {
        !self.timers.is_empty() || !self.all_positions().is_empty()
    }
}

/// The machine may have lost its position: invalidates what depends on it, directly or indirectly.
pub(super) fn after_lost_position(state: &State, because: &str) -> Option<Event> {
    let mut steps = state.positions();
    // A reading of the readout means nothing once its zero may have moved.
    let readings = steps.iter().flat_map(|at| state.readings_against_zero(at));
    let readings: Vec<Instance> = readings.collect();
    steps.extend(readings);
    steps.extend(state.depending_on(&steps));
    if state.cutting.is_some() {
        steps.extend(conditions(state));
    }
    if steps.is_empty() {
        return sign_again(state, because);
    }
    let mut once = Vec::new();
    for at in steps {
        if !once.contains(&at) {
            once.push(at);
        }
    }
    void(once, because)
}

/// What was checked at the machine before a cut that did not run to its end, and the sign-off over it: where the cutter
/// is, what is tight and who is near must be checked again.
pub(super) fn conditions(state: &State) -> Vec<Instance> {
    let seen = |k: &Kind| matches!(k, Kind::Confirm { .. } | Kind::Codes(_) | Kind::Sign { .. });
    state
        .sequence()
        .iter()
        .filter(|p| p.pass.is_some() && seen(&p.step.kind))
        .map(SequencePosition::instance)
        .filter(|at| state.answers.contains_key(at) && !state.is_history(at))
        .collect()
}

/// The event that invalidates `steps`; `None` where there are none.
pub(super) fn void(steps: Vec<Instance>, because: &str) -> Option<Event> {
    (!steps.is_empty()).then(|| Event::Voided {
        steps,
        because: because.to_owned(),
    })
}

/// Invalidates the sign-offs of passes not yet cut.
pub(super) fn sign_again(state: &State, because: &str) -> Option<Event> {
    let steps: Vec<Instance> = state
        .sequence()
        .iter()
        .filter(|p| matches!(p.step.kind, Kind::Sign { .. }))
        .map(SequencePosition::instance)
        .filter(|at| state.answers.contains_key(at) && !state.is_history(at))
        .collect();
    void(steps, because)
}

/// Invalidates a changed program file with everything that depends on it.
pub(super) fn check_program(state: &State, program: ProgramSeen) -> Vec<Event> {
    let Some((at, _, fingerprint)) = state.program() else {
        return Vec::new();
    };
    if program == Some(fingerprint) {
        return Vec::new();
    }
    let at = at.clone();
    let mut steps = vec![at.clone()];
    steps.extend(state.depending_on(&steps));
    let because = match program {
        Some(_) => "the program file changed",
        None => "the program file cannot be read",
    };
    vec![
        Event::ProgramChanged { at, found: program },
        Event::Voided {
            steps,
            because: because.to_owned(),
        },
    ]
}

/// Invalidates the sign-offs that are not valid with the list of people as it is now: a signer retired, has a new key,
/// or now needs a second signer.
pub(super) fn check_people(state: &State, people: &People) -> Vec<Event> {
    let invalidated = state.sequence().iter().find_map(|place| {
        let at = place.instance();
        if state.is_history(&at) {
            return None;
        }
        // A sign-off over another state is asked for again in any case, with its own message.
        match state.check_signed(&at, state.answer(&at)?, people) {
            Ok(()) | Err(SignFault::OtherState | SignFault::NotOperator(_)) => None,
            Err(fault) => Some((at, fault)),
        }
    });
    invalidated
        .and_then(|(at, fault)| void(vec![at], &fault.to_string()))
        .into_iter()
        .collect()
}

/// Adopts the figures of the plate's account from now on. What depended on the earlier figures becomes invalid.
pub(super) fn adopt_account(state: &State, known: &PlateKnown) -> Vec<Event> {
    if state.known.as_ref() == Some(known) {
        return Vec::new();
    }
    let chooses = |p: &SequencePosition| {
        matches!(
            p.step.kind,
            Kind::Choose {
                options: Options::From(ShopList::Plates),
                ..
            }
        )
    };
    let chosen: Vec<Instance> = state
        .sequence()
        .iter()
        .filter(|p| chooses(p))
        .map(SequencePosition::instance)
        .collect();
    let because = "the plate's account in the book has other figures for the plate";
    let mut events: Vec<Event> = void(state.depending_on(&chosen), because)
        .into_iter()
        .collect();
    events.push(Event::PlateKnown(known.clone()));
    events
}

/// What became suspect with the machine's position while no cut was left, and becomes invalid once `events` lead to
/// another cut.
pub(super) fn already_suspect(state: &State, events: &[Event]) -> Option<Event> {
    if state.shaken.is_empty() {
        return None;
    }
    let mut then = state.clone();
    for event in events {
        then.apply(state.latest, event);
    }
    let shaken = then.shaken.iter().filter(|of| !then.is_history(of));
    let mut steps: Vec<Instance> = shaken.cloned().collect();
    if steps.is_empty() {
        return None;
    }
    steps.extend(then.depending_on(&steps));
    Some(Event::Voided {
        steps,
        because: "the machine may have lost its position".to_owned(),
    })
}

/// What becomes invalid when a repeated check finds that a condition is no longer met: the confirmations that the check
/// depends on, and everything that depends on them. `None` where they are invalid already.
pub(super) fn contradicted(state: &State, place: &SequencePosition, word: &str) -> Option<Event> {
    let at = place.instance();
    let confirms = |of: &Instance| {
        let kind = state.step(of).map(|s| &s.kind);
        matches!(kind, Some(Kind::Confirm { .. })) && !state.is_history(of)
    };
    let named = place.step.rests_on.iter();
    let mut steps: Vec<Instance> = named
        .filter_map(|id| state.referred(id, &at))
        .filter(|of| confirms(of) && state.answers.contains_key(of))
        .collect();
    if steps.is_empty() {
        return None;
    }
    steps.extend(state.depending_on(&steps));
    void(steps, &format!("{}: {word}", place.step.title))
}
