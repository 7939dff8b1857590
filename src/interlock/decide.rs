//! Deciding: a command against the state, at a moment, gives events or a refusal.

use super::answer::{Answer, Proof};
use super::command::{Command, Seen};
use super::event::{Event, Outcome, PlateKnown};
use super::gate;
use super::instance::Instance;
use super::refusal::Refusal;
use super::sequence::Place;
use super::signing::SignFault;
use super::standing::{Next, Standing, milliseconds};
use super::state::State;
use crate::people::{People, Role};
use crate::procedure::model::{EMERGENCY_STOP, FINISHED, STOPPED};
use crate::procedure::{Kind, Options, ShopList};
use crate::quantity::moment::Moment;
use crate::quantity::{Length, Quantity};

/// Why a sign-off falls whose release was given at a terminal that is gone.
pub const RELEASE_GONE: &str = "the terminal that had the release is gone";

pub(super) type Decided = Result<Vec<Event>, Refusal>;

/// What `command` does to a run in `state` at `now`. The events are not yet part of the state: they count once they
/// are recorded.
pub fn decide(state: &State, now: Moment, command: &Command) -> Decided {
    if state.ended.is_some() {
        return Err(Refusal::Over);
    }
    if state.cutting.is_some() && !allowed_while_cutting(command) {
        return Err(Refusal::CutUnderWay);
    }
    let by = || state.operator.clone();
    match command {
        Command::Answer { at, said, accept } => {
            let place = asked(state, at, now)?;
            super::answering::answer(state, &place, said, accept.as_deref())
        }
        Command::WorkOut { at, accept } => {
            let place = asked(state, at, now)?;
            super::answering::work_out(state, &place, accept.as_deref())
        }
        Command::Touch {
            at,
            point,
            reading,
            closing,
            place,
            accept,
        } => {
            asked(state, at, now)?;
            let reason = accept.as_deref();
            super::touches::touch(state, at, (point, *reading, *place), *closing, reason)
        }
        Command::Zeroed { at, shows } => super::touches::zeroed(state, at, *shows),
        Command::TakeBack { at } => super::touches::take_back(state, at),
        Command::RestartTouches { at } => {
            asked(state, at, now)?;
            super::touches::restart(state, at)
        }
        Command::FinishTouches { at } => {
            asked(state, at, now)?;
            super::touches::finish(state, at)
        }
        Command::Sign {
            at,
            initials,
            means,
            with,
        } => {
            let place = asked(state, at, now)?;
            super::answering::sign(state, &place, initials, *means, with, now)
        }
        Command::Release { program, people } => release(state, now, *program, people),
        Command::Start { program, people } => start(state, now, *program, people),
        Command::PracticeRelease { program } => practice_release(state, now, *program),
        Command::PracticeStart { program } => practice_start(state, now, *program),
        Command::EndCut { how } => end_cut(state, how),
        Command::LookAtProgram { program } => Ok(look_at_program(state, *program)),
        Command::LookAtPeople { people } => Ok(look_at_people(state, people)),
        Command::HandOver { to } => hand_over(state, to),
        Command::FindReleased => Ok(find_released(state)),
        Command::Resume { by } => Ok(resume(state, by)),
        Command::TakeOver {
            by,
            signature,
            people,
        } => take_over(state, by, signature, people),
        Command::Pause { how } => Ok(vec![Event::Paused { how: how.clone() }]),
        Command::Stop { emergency, reason } => Ok(stop(state, *emergency, reason)),
        Command::KnowPlate(known) => Ok(know_plate(state, known)),
        Command::Note { text } => Ok(vec![Event::Noted {
            by: by(),
            text: text.clone(),
        }]),
        Command::End { outcome } => {
            if *outcome == Outcome::Complete && state.next(now) != Next::Complete {
                return Err(Refusal::Held(Vec::new()));
            }
            Ok(vec![Event::Ended {
                outcome: *outcome,
                by: by(),
            }])
        }
    }
}

fn allowed_while_cutting(command: &Command) -> bool {
    matches!(
        command,
        Command::EndCut { .. }
            | Command::Note { .. }
            | Command::Stop { .. }
            | Command::Pause { .. }
            | Command::FindReleased
            | Command::TakeOver { .. }
            | Command::Resume { .. }
    )
}

/// The place of an asking, if it can be answered: on the way of the run, not behind a question that still stands open,
/// and not in a pass already cut.
fn asked<'a>(state: &'a State, at: &Instance, now: Moment) -> Result<Place<'a>, Refusal> {
    if state.is_history(at) {
        return Err(Refusal::History(at.clone()));
    }
    for (place, standing) in state.standings(now) {
        let of = place.instance();
        if of == *at {
            return Ok(place);
        }
        if standing != Standing::Holds {
            return Err(Refusal::OutOfOrder {
                at: at.clone(),
                next: of,
            });
        }
    }
    Err(Refusal::NotAsked(at.clone()))
}

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

/// What an emergency stop put in doubt while no cut was left, once `events` lead to another cut.
fn shaken_by_now(state: &State, events: &[Event]) -> Option<Event> {
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
    steps.extend(then.resting_on(&steps));
    Some(Event::Voided {
        steps,
        because: "the emergency stop was pressed".to_owned(),
    })
}

fn release(state: &State, now: Moment, program: Seen, people: &People) -> Decided {
    let cleared = gate::release(state, now, program, people).map_err(Refusal::Held)?;
    Ok(vec![Event::Released {
        at: cleared.at().clone(),
        until: lapses(state, now, cleared.at())?,
        to: state.operator.clone(),
        digest: cleared.digest(),
    }])
}

fn practice_release(state: &State, now: Moment, program: Seen) -> Decided {
    let permitted = gate::practice(state, now, program).map_err(Refusal::Held)?;
    Ok(vec![Event::PracticeReleased {
        at: permitted.at().clone(),
        until: lapses(state, now, permitted.at())?,
        to: state.operator.clone(),
        digest: permitted.digest(),
    }])
}

/// When a release given now lapses.
fn lapses(state: &State, now: Moment, at: &Instance) -> Result<Moment, Refusal> {
    let Some(Kind::Cut { release_for, .. }) = state.step(at).map(|s| &s.kind) else {
        return Err(Refusal::NotAsked(at.clone()));
    };
    i64::try_from(milliseconds(*release_for))
        .ok()
        .and_then(|ms| now.plus_ms(ms))
        .ok_or_else(|| Refusal::NoValue("the release would last too long".to_owned()))
}

fn start(state: &State, now: Moment, program: Seen, people: &People) -> Decided {
    let cleared = gate::start(state, now, program, people).map_err(Refusal::Held)?;
    let at = cleared.at().clone();
    Ok(vec![Event::CutStarted {
        plane: plane(state, &at)?,
        at,
        by: state.operator.clone(),
    }])
}

fn practice_start(state: &State, now: Moment, program: Seen) -> Decided {
    let permitted = gate::practice_start(state, now, program).map_err(Refusal::Held)?;
    let at = permitted.at().clone();
    Ok(vec![Event::PracticeStarted {
        plane: plane(state, &at)?,
        at,
        by: state.operator.clone(),
    }])
}

/// The height at which the tip travels in a cut.
fn plane(state: &State, at: &Instance) -> Result<Length, Refusal> {
    let Some(Kind::Cut { plane, .. }) = state.step(at).map(|s| &s.kind) else {
        return Err(Refusal::NotAsked(at.clone()));
    };
    let plane = state
        .env(at)
        .quantity(plane)
        .map_err(|e| Refusal::NoValue(e.to_string()))?;
    Length::nearest(plane).ok_or_else(|| Refusal::NoValue("the plane is beyond 100 m".to_owned()))
}

fn end_cut(state: &State, how: &str) -> Decided {
    let Some(cutting) = &state.cutting else {
        return Err(Refusal::NoCut);
    };
    let ways = [FINISHED, STOPPED, EMERGENCY_STOP];
    if !ways.contains(&how) {
        return Err(Refusal::NotAnOption {
            said: how.to_owned(),
            options: ways.map(str::to_owned).into(),
        });
    }
    let mut events = vec![Event::CutEnded {
        at: cutting.at.clone(),
        how: how.to_owned(),
        by: state.operator.clone(),
    }];
    if how == EMERGENCY_STOP {
        events.extend(after_emergency_stop(state));
    } else if how == STOPPED {
        events.extend(void(
            conditions(state),
            "the cut was stopped before its end",
        ));
    }
    Ok(events)
}

/// An emergency stop leaves positions in doubt: what the procedure marks falls, and everything that rests on it.
fn after_emergency_stop(state: &State) -> Option<Event> {
    let mut steps: Vec<Instance> = state
        .sequence()
        .iter()
        .filter(|p| p.step.after_emergency_stop)
        .map(Place::instance)
        .filter(|at| state.answers.contains_key(at) && !state.is_history(at))
        .collect();
    steps.extend(state.resting_on(&steps));
    if state.cutting.is_some() {
        steps.extend(conditions(state));
    }
    let because = "the emergency stop was pressed";
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
fn conditions(state: &State) -> Vec<Instance> {
    let seen = |k: &Kind| matches!(k, Kind::Confirm { .. } | Kind::Sign { .. });
    state
        .sequence()
        .iter()
        .filter(|p| p.pass.is_some() && seen(&p.step.kind))
        .map(Place::instance)
        .filter(|at| state.answers.contains_key(at) && !state.is_history(at))
        .collect()
}

fn void(steps: Vec<Instance>, because: &str) -> Option<Event> {
    (!steps.is_empty()).then(|| Event::Voided {
        steps,
        because: because.to_owned(),
    })
}

/// The sign-offs of passes not yet cut fall.
fn sign_again(state: &State, because: &str) -> Option<Event> {
    let steps: Vec<Instance> = state
        .sequence()
        .iter()
        .filter(|p| matches!(p.step.kind, Kind::Sign { .. }))
        .map(Place::instance)
        .filter(|at| state.answers.contains_key(at) && !state.is_history(at))
        .collect();
    void(steps, because)
}

/// A changed file falls with everything that rests on it.
pub(super) fn look_at_program(state: &State, program: Seen) -> Vec<Event> {
    let Some((at, _, fingerprint)) = state.program() else {
        return Vec::new();
    };
    if program == Some(fingerprint) {
        return Vec::new();
    }
    let at = at.clone();
    let mut steps = vec![at.clone()];
    steps.extend(state.resting_on(&steps));
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
fn look_at_people(state: &State, people: &People) -> Vec<Event> {
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
fn know_plate(state: &State, known: &PlateKnown) -> Vec<Event> {
    if state.known.as_ref() == Some(known) {
        return Vec::new();
    }
    let chooses = |p: &Place| {
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
        .map(Place::instance)
        .collect();
    let because = "the plate's account in the book says something else of the plate";
    let mut events: Vec<Event> = void(state.resting_on(&chosen), because)
        .into_iter()
        .collect();
    events.push(Event::PlateKnown(known.clone()));
    events
}

fn hand_over(state: &State, to: &str) -> Decided {
    let to = super::answering::initials(to).ok_or(Refusal::NoInitials)?;
    let mut events = vec![Event::HandedOver {
        from: state.operator.clone(),
        to,
    }];
    let because = format!("the run was handed over by {}", state.operator);
    events.extend(sign_again(state, &because));
    Ok(events)
}

fn resume(state: &State, by: &str) -> Vec<Event> {
    let mut events = vec![Event::Resumed {
        by: by.to_owned(),
        after_crash: state.left.is_none(),
    }];
    if by != state.operator {
        events.extend(hand_over(state, by).unwrap_or_default());
    } else if state.cutting.is_none() {
        // Who goes on was away from the machine, even if it is the same person: what was signed is looked at anew. The
        // sign-off of a cut under way is spent.
        events.extend(sign_again(state, "the run was taken up again"));
    }
    events
}

/// A release found in a run that no terminal walks falls with its sign-off, before anybody says who they are.
fn find_released(state: &State) -> Vec<Event> {
    if state.release.is_none() {
        return Vec::new();
    }
    sign_again(state, RELEASE_GONE).into_iter().collect()
}

fn take_over(state: &State, by: &str, signature: &str, people: &People) -> Decided {
    let key = people.active(by).and_then(|l| l.key());
    let proof = Proof {
        key: key.unwrap_or_default().to_owned(),
        signature: signature.to_owned(),
        role: Some(Role::Owner),
    };
    state
        .check_taken_over(by, &proof, people)
        .map_err(Refusal::Unsigned)?;
    let mut events = vec![Event::TakenOver {
        from: state.operator.clone(),
        by: by.to_owned(),
        proof,
    }];
    if by != state.operator {
        events.extend(hand_over(state, by)?);
    } else if state.cutting.is_none() {
        events.extend(sign_again(state, "the run was taken over"));
    }
    Ok(events)
}

fn stop(state: &State, emergency: bool, reason: &str) -> Vec<Event> {
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

/// The step's quantity as a value in the unit shown; here so that both answering and touching judge alike.
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
