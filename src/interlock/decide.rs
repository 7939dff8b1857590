//! Decides commands: a state, a command and the time give events or a refusal.

use super::answer_status::{AnswerStatus, Next};
use super::command::Command;
use super::event::{Event, Outcome};
use super::instance::Instance;
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::state::State;
use super::timers::awaited;
use super::{custody, cutting, invalidation, service};
use crate::quantity::moment::Moment;

pub(super) type Decided = Result<Vec<Event>, Refusal>;

/// The events of `command` for a run in `state` at `now`, or a refusal. The events become part of the state only after
/// they are recorded.
pub fn decide(state: &State, now: Moment, command: &Command) -> Decided {
    if state.ended.is_some() {
        return Err(Refusal::Over);
    }
    if state.cutting.is_some() && !allowed_while_cutting(command) {
        return Err(Refusal::CutUnderWay);
    }
    if state.open_stop.is_some() && answers_a_question(command) {
        return Err(Refusal::StopNotExplained);
    }
    if let Some(seen) = &state.out_of_service
        && answers_a_question(command)
    {
        return Err(Refusal::OutOfService(Box::new(seen.clone())));
    }
    let by = || state.operator.clone();
    let from = Some(state.origin);
    match command {
        Command::Answer { at, said, accept } => {
            let (place, standing) = asked(state, at, now)?;
            let held = standing == AnswerStatus::Holds;
            super::answering::answer(state, &place, said, accept.as_deref(), held)
        }
        Command::TakeFromProgram { at, accept } => {
            let (place, _) = asked(state, at, now)?;
            super::from_program::taken(state, &place, accept.as_deref())
        }
        Command::WorkOut { at, accept } => {
            let (place, _) = asked(state, at, now)?;
            super::answering::work_out(state, &place, accept.as_deref())
        }
        Command::Stand { at, earlier } => {
            let (place, _) = asked(state, at, now)?;
            super::standing::stand(state, &place, earlier.as_deref(), now)
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
        Command::BeginTimer { at } => {
            let (place, standing) = asked(state, at, now)?;
            super::timers::begin(state, &place, &standing)
        }
        Command::FinishTimer { at } => super::timers::finish(state, at, now),
        Command::Sign {
            at,
            initials,
            means,
            with,
        } => {
            let (place, _) = asked(state, at, now)?;
            super::answering::sign(state, &place, initials, *means, with, now)
        }
        Command::Release { program, people } => cutting::release(state, now, *program, people),
        Command::Start { program, people } => cutting::start(state, now, *program, people),
        Command::AssumeCut { program, people } => cutting::assume(state, now, *program, people),
        Command::PracticeRelease { program } => cutting::practice_release(state, now, *program),
        Command::PracticeStart { program } => cutting::practice_start(state, now, *program),
        Command::EndCut { how, cause, said } => cutting::end_cut(state, *how, *cause, said),
        Command::LookAtProgram { program } => Ok(invalidation::check_program(state, *program)),
        Command::LookAtPeople { people } => Ok(invalidation::check_people(state, people)),
        Command::HandOver { to, elsewhere } => custody::hand_over(state, to, elsewhere),
        Command::BeginBeside { elsewhere } => custody::begin_beside(state, elsewhere),
        Command::FindReleased => Ok(custody::find_released(state)),
        Command::Resume {
            by,
            from,
            kept,
            elsewhere,
        } => custody::resume(state, by, *from, *kept, elsewhere),
        Command::TakeOver {
            by,
            signature,
            people,
            kept,
            elsewhere,
        } => custody::take_over(state, (by, signature), people, *kept, elsewhere),
        Command::Pause { how } => Ok(vec![Event::Paused {
            how: how.clone(),
            from,
        }]),
        Command::Stop { cause, reason } => Ok(custody::stop(state, *cause, reason)),
        Command::ExplainStop { cause, said } => custody::explain_stop(state, *cause, said),
        Command::KnowOutOfService(seen) => Ok(service::known(state, seen)),
        Command::PutBack {
            reason,
            by,
            signature,
            people,
        } => service::put_back(state, (by, reason), signature.as_deref(), people),
        Command::KnowPlate(known) => Ok(invalidation::adopt_account(state, known)),
        Command::Note { text } => Ok(vec![Event::Noted {
            by: by(),
            text: text.clone(),
            from,
        }]),
        Command::End { outcome } => {
            if *outcome == Outcome::Complete && state.next(now) != Next::Complete {
                return Err(Refusal::Held(Vec::new()));
            }
            Ok(vec![Event::Ended {
                outcome: *outcome,
                by: by(),
                from,
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
            | Command::ExplainStop { .. }
            | Command::Pause { .. }
            | Command::FindReleased
            | Command::TakeOver { .. }
            | Command::Resume { .. }
            | Command::KnowOutOfService(_)
    )
}

/// Whether a command answers a question of the procedure, in whole or in part.
fn answers_a_question(command: &Command) -> bool {
    matches!(
        command,
        Command::Answer { .. }
            | Command::TakeFromProgram { .. }
            | Command::WorkOut { .. }
            | Command::Stand { .. }
            | Command::Touch { .. }
            | Command::Zeroed { .. }
            | Command::TakeBack { .. }
            | Command::RestartTouches { .. }
            | Command::BeginTimer { .. }
            | Command::FinishTimer { .. }
            | Command::FinishTouches { .. }
            | Command::Sign { .. }
    )
}

/// The position of an instance and its status, if it can be answered: it is asked in this run, no earlier question is
/// open, and its pass is not cut yet.
fn asked<'a>(
    state: &'a State,
    at: &Instance,
    now: Moment,
) -> Result<(SequencePosition<'a>, AnswerStatus), Refusal> {
    if state.is_history(at) {
        return Err(Refusal::History(at.clone()));
    }
    let mut running = Vec::new();
    for (place, standing) in state.answer_statuses(now) {
        let of = place.instance();
        if of == *at {
            return match awaited(place.step, &running) {
                Some(next) => Err(Refusal::OutOfOrder {
                    at: at.clone(),
                    next,
                }),
                None => Ok((place, standing)),
            };
        }
        if matches!(standing, AnswerStatus::Running { .. }) {
            running.push(of);
        } else if standing != AnswerStatus::Holds {
            return Err(Refusal::OutOfOrder {
                at: at.clone(),
                next: of,
            });
        }
    }
    Err(Refusal::NotAsked(at.clone()))
}
