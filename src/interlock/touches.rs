//! Decides touches: each reading is checked against the series before it is recorded.

use super::answer::Answer;
use super::decide::Decided;
use super::event::Event;
use super::instance::Instance;
use super::recording::{accept, record};
use super::refusal::Refusal;
use super::state::State;
use super::touching::{NextTouch, OpenTouchSeries, first_due};
use crate::plate::{Reading, TouchError};
use crate::procedure::Kind;
use crate::procedure::model::Touch;
use crate::quantity::{Length, Quantity};

fn step<'a>(state: &'a State, at: &Instance) -> Result<&'a Touch, Refusal> {
    if let Some(Kind::Touch(touch)) = state.step(at).map(|s| &s.kind) {
        Ok(touch)
    } else {
        Err(Refusal::WrongKind)
    }
}

/// The series under way at `at`, or a new one as its first touch would begin it.
pub(crate) fn series(state: &State, at: &Instance) -> Result<OpenTouchSeries, Refusal> {
    match state.touching.as_ref().filter(|t| t.at == *at) {
        Some(touching) => Ok(touching.clone()),
        None => OpenTouchSeries::begin(state, at).ok_or(Refusal::WrongKind),
    }
}

/// What to touch next at `at`.
pub fn due(state: &State, at: &Instance) -> Result<NextTouch, Refusal> {
    let touch = step(state, at)?;
    Ok(match state.touching.as_ref().filter(|t| t.at == *at) {
        Some(touching) => touching.due(touch),
        None => first_due(touch),
    })
}

/// Records one reading at a point, with its place on the plate where one was typed.
pub(crate) fn touch(
    state: &State,
    at: &Instance,
    (point, reading, place): (&str, Reading, Option<[Length; 2]>),
    closing: bool,
    reason: Option<&str>,
) -> Decided {
    let touch = step(state, at)?;
    let touching = series(state, at)?;
    fits_due(&due(state, at)?, touch, point, closing)?;
    if let (Some(place), Some(size)) = (place, state.plate_size())
        && (place.iter().zip(size)).any(|(at, size)| *at < Length::ZERO || *at > size)
    {
        return Err(Refusal::OffPlate { size });
    }
    if reading.readout.or(reading.machine).is_none() {
        return Err(Refusal::WrongKind);
    }
    let tried = touching.try_touch(point, reading, closing);
    // The other column shows a typing mistake better than the limits do, so it is checked first.
    if let Err(error @ TouchError::Mismatch(..)) = tried {
        return Err(Refusal::Touch(Box::new(error)));
    }
    let accepted = match reading.readout {
        Some(readout) => accept(state, at, &touch.limits, readout.into(), reason)?,
        None => None,
    };
    tried.map_err(|e| Refusal::Touch(Box::new(e)))?;
    let mut events = restarted(state, at);
    events.push(Event::Touched {
        at: at.clone(),
        point: point.to_owned(),
        reading,
        closing,
        place,
        by: state.operator.clone(),
        from: Some(state.origin),
    });
    events.extend(accepted);
    Ok(events)
}

/// The events of the first touch where the step has a finished series already: the old one and everything that depends
/// on it become invalid.
fn restarted(state: &State, at: &Instance) -> Vec<Event> {
    let running = state.touching.as_ref().is_some_and(|t| t.at == *at);
    if running || state.answer(at).is_none() {
        return Vec::new();
    }
    let mut steps = vec![at.clone()];
    steps.extend(state.depending_on(&steps));
    vec![Event::Voided {
        steps,
        because: "the plate is touched again".to_owned(),
    }]
}

/// Checks that a point may be touched now. Extra points may be touched at any time, but not as the closing touch.
fn fits_due(due: &NextTouch, touch: &Touch, point: &str, closing: bool) -> Result<(), Refusal> {
    let wrong = |due: String| Refusal::WrongPoint {
        said: point.to_owned(),
        due,
    };
    match due {
        NextTouch::Point(name)
            if !closing && (point == name || !touch.points.iter().any(|p| p == point)) =>
        {
            Ok(())
        }
        NextTouch::Point(name) => Err(wrong(name.clone())),
        NextTouch::Any if !closing => Ok(()),
        NextTouch::Closing(name) if closing && point == name => Ok(()),
        NextTouch::Closing(name) => Err(wrong(format!("{name} again, to close the series"))),
        NextTouch::Zero(name) => Err(wrong(format!("the readout to be zeroed at {name}"))),
        NextTouch::Nothing if !closing && !touch.points.iter().any(|p| p == point) => Ok(()),
        NextTouch::Any | NextTouch::Nothing => Err(wrong("the end of the series".to_owned())),
    }
}

/// Records that the readout was zeroed when it was due. It must show zero.
pub(crate) fn zeroed(state: &State, at: &Instance, shows: Quantity) -> Decided {
    let NextTouch::Zero(_) = due(state, at)? else {
        return Err(Refusal::Touch(Box::new(TouchError::NoZeroAdvised)));
    };
    if !shows.amount.is_zero() {
        return Err(Refusal::NotZeroed { shows });
    }
    Ok(vec![Event::Zeroed {
        at: at.clone(),
        from: Some(state.origin),
    }])
}

/// Removes the last reading, unless the readout was zeroed at it.
pub(crate) fn take_back(state: &State, at: &Instance) -> Decided {
    let touching = series(state, at)?;
    touching
        .series()
        .clone()
        .fix()
        .map_err(|e| Refusal::Touch(Box::new(e)))?;
    Ok(vec![Event::TouchTakenBack {
        at: at.clone(),
        from: Some(state.origin),
    }])
}

/// Starts a series again. What depends on the old one becomes invalid.
pub(crate) fn restart(state: &State, at: &Instance) -> Decided {
    step(state, at)?;
    let mut events = restarted(state, at);
    events.push(Event::TouchesRestarted {
        at: at.clone(),
        from: Some(state.origin),
    });
    Ok(events)
}

/// Ends a series that is complete.
pub(crate) fn finish(state: &State, at: &Instance) -> Decided {
    let touching = state
        .touching
        .as_ref()
        .filter(|t| t.at == *at)
        .ok_or(Refusal::TouchesOpen)?;
    match touching.due(step(state, at)?) {
        NextTouch::Nothing | NextTouch::Any => {}
        _ => return Err(Refusal::TouchesOpen),
    }
    let touched = touching
        .summary(&state.marks.surface())
        .ok_or(Refusal::TouchesOpen)?;
    Ok(record(state, at, Answer::Touched(touched), None))
}
