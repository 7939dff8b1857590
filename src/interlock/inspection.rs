//! The result of an inspection, compared with what was expected of the plane just cut.
//!
//! It is recorded with the answer, because later touches would change the map. It decides nothing: the next plane comes
//! from touches.

use super::event::{Event, InspectionResult};
use super::instance::Instance;
use super::refusal::Refusal;
use super::state::State;
use crate::plate::{Class, TouchNeighbourhood};
use crate::quantity::Length;

/// The event of an inspection that found skin near the points `near`, or found all clean. `None` where no points have
/// places and none was named.
pub(crate) fn inspection_result(
    state: &State,
    at: &Instance,
    clean: bool,
    near: &[String],
) -> Result<Option<Event>, Refusal> {
    let known: Vec<String> = state.marks.before_cuts().into_iter().map(|p| p.0).collect();
    if let Some(said) = near.iter().find(|p| !known.contains(p)) {
        return Err(Refusal::NotTouched {
            said: said.clone(),
            known,
        });
    }
    let Some(plane) = state.marks.last_cut() else {
        return Ok(None);
    };
    let around = state.land().and_then(Result::ok);
    let around = around.and_then(|land| land.around(plane).ok());
    if around.is_none() && near.is_empty() {
        return Ok(None);
    }
    let around = around.unwrap_or_default();
    let of = |class: Class| -> Vec<String> {
        let there = around.iter().filter(|a| a.worst == class);
        there.map(|a| a.point.clone()).collect()
    };
    let stays = of(Class::Stays);
    let unsure = of(Class::NotKnown);
    // If nobody said where the skin is, assume that it is where it was expected, or else where it was not known.
    let left = [near, &stays, &unsure].into_iter().find(|p| !p.is_empty());
    let next = left
        .filter(|_| !clean)
        .and_then(|left| deepest(&around, left))
        .filter(|d| *d < plane);
    Ok(Some(Event::Looked(InspectionResult {
        at: at.clone(),
        plane,
        skin: near.to_vec(),
        clean,
        stays,
        unsure,
        depth: next.and_then(|n| plane.minus(n)),
        next,
        by: state.operator.clone(),
    })))
}

/// The lowest estimated height of the old skin near any of these points; `None` where one of them gives no estimate.
fn deepest(around: &[TouchNeighbourhood], near: &[String]) -> Option<Length> {
    let of = |point: &String| around.iter().find(|a| a.point == *point)?.deepest;
    let all: Option<Vec<Length>> = near.iter().map(of).collect();
    all?.into_iter().min()
}
