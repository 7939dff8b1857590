//! What falls that nobody answered anew: where the machine may have lost its position, after a stopped cut, with a changed program, with people
//! or a plate's account that say something else.

use super::command::ProgramSeen;
use super::event::{Event, PlateKnown};
use super::instance::Instance;
use super::sequence::SequencePosition;
use super::signing::SignFault;
use super::state::State;
use crate::people::People;
use crate::procedure::{Kind, Options, ShopList};

impl State {
    /// What is lost where the machine may no longer know where it stands: what the procedure marks, heights and entries, as far
    /// as they are answered and a cut is to come.
    pub(super) fn positions(&self) -> Vec<Instance> {
        let mut found = self.all_positions();
        found.retain(|at| !self.is_history(at));
        found
    }

    fn all_positions(&self) -> Vec<Instance> {
        let touching = |of: &Instance| self.touching.as_ref().is_some_and(|t| t.at == *of);
        self.sequence()
            .iter()
            .filter(|p| self.depends_on_position(p.step))
            .map(SequencePosition::instance)
            .filter(|at| self.answers.contains_key(at) || touching(at))
            .collect()
    }

    /// Whether anything could be lost by it, so that it must be asked about where a run is taken up again. That no cut is to
    /// come by now says nothing: the next look at the surface may lead to one.
    pub fn has_positions(&self) -> bool {
        !self.all_positions().is_empty()
    }
}

/// The machine may no longer know where it stands: what depends on its position no longer holds, and what depends on that.
pub(super) fn after_lost_position(state: &State, because: &str) -> Option<Event> {
    let mut steps = state.positions();
    // A reading of the readout says nothing once its zero may stand elsewhere.
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

/// What was seen at the machine before a cut that did not run to its end, and the sign-off over it: where the cutter
/// stands, what is tight, who is near is to be looked at again.
pub(super) fn conditions(state: &State) -> Vec<Instance> {
    let seen = |k: &Kind| matches!(k, Kind::Confirm { .. } | Kind::Sign { .. });
    state
        .sequence()
        .iter()
        .filter(|p| p.pass.is_some() && seen(&p.step.kind))
        .map(SequencePosition::instance)
        .filter(|at| state.answers.contains_key(at) && !state.is_history(at))
        .collect()
}

/// The event that makes steps fall, where there are any.
pub(super) fn void(steps: Vec<Instance>, because: &str) -> Option<Event> {
    (!steps.is_empty()).then(|| Event::Voided {
        steps,
        because: because.to_owned(),
    })
}

/// The sign-offs of passes not yet cut fall.
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

/// A changed file falls with everything that rests on it.
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

/// Sign-offs fall that do not stand with the people as they are now: a signer retired, has a new key, or needs a second.
pub(super) fn check_people(state: &State, people: &People) -> Vec<Event> {
    let fallen = state.sequence().iter().find_map(|place| {
        let at = place.instance();
        if state.is_history(&at) {
            return None;
        }
        // A sign-off over another state is asked for again anyway, with its own words.
        match state.check_signed(&at, state.answer(&at)?, people) {
            Ok(()) | Err(SignFault::OtherState | SignFault::NotOperator(_)) => None,
            Err(fault) => Some((at, fault)),
        }
    });
    fallen
        .and_then(|(at, fault)| void(vec![at], &fault.to_string()))
        .into_iter()
        .collect()
}

/// What the account says rules from here on; what rested on the plate before falls.
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
    let because = "the plate's account in the book says something else of the plate";
    let mut events: Vec<Event> = void(state.depending_on(&chosen), because)
        .into_iter()
        .collect();
    events.push(Event::PlateKnown(known.clone()));
    events
}

/// What was lost with the machine's position while no cut was left, once `events` lead to another cut.
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

/// What falls where a look once more finds that it holds no more: the confirmations that the look rests on, and all that
/// rests on them. Nothing where they fell already.
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
