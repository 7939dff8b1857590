//! How the value of each function of formulas is found.

use super::eval::{EvalError, TouchedSurface};
use super::value::Touches;
use crate::cutting::{raster, speeds};
use crate::plate::skims::one_skim;
use crate::plate::{Limits, Plan, SkimsLeft};
use crate::quantity::{Exact, Length, Quantity};
use std::cmp::Ordering;

/// Exactly `N` quantities. The checker counts them, so another number means that the formula was not checked.
pub(super) fn arguments<const N: usize>(args: &[Quantity]) -> Result<[Quantity; N], EvalError> {
    args.try_into()
        .map_err(|_| EvalError::Unsound("a call".to_owned()))
}

pub(super) fn spread(touches: &Touches) -> Result<Quantity, EvalError> {
    let spread = touches.highest.minus(touches.lowest);
    spread.map(Quantity::from).ok_or(EvalError::OutOfReach)
}

pub(super) fn touched_near(
    args: &[Quantity],
    surface: &dyn TouchedSurface,
) -> Result<Quantity, EvalError> {
    let [height] = arguments(args)?;
    let near = surface.touched_near(length(height)?);
    near.map(Quantity::from)
        .ok_or_else(|| EvalError::Missing("surface".to_owned()))
}

pub(super) fn pick(all: &[Quantity], wanted: Ordering) -> Result<Quantity, EvalError> {
    let [first, rest @ ..] = all else {
        return Err(EvalError::Unsound("a call".to_owned()));
    };
    rest.iter().try_fold(*first, |best, next| {
        Ok(if next.compare(best)? == wanted {
            *next
        } else {
            best
        })
    })
}

pub(super) fn stepped(args: &[Quantity], to: fn(Exact) -> i128) -> Result<Quantity, EvalError> {
    let [a, step] = arguments(args)?;
    if step.amount <= Exact::ZERO {
        return Err(EvalError::StepNotAboveNought);
    }
    let steps = to(a.over(step)?.amount);
    let steps = Exact::fraction(steps, 1).ok_or(EvalError::OutOfReach)?;
    Ok(step.times(Quantity::ratio(steps))?)
}

pub(super) fn length(q: Quantity) -> Result<Length, EvalError> {
    Length::nearest(q).ok_or(EvalError::OutOfReach)
}

/// Plans equal passes between two heights, with the planning of the plate module.
pub(super) fn plan(
    from: Quantity,
    to: Quantity,
    most: Quantity,
    step: Option<Quantity>,
) -> Result<Plan, EvalError> {
    let limits = Limits {
        max_bite: length(most)?,
        finish: None,
        step: step.map(length).transpose()?,
    };
    Plan::new(length(from)?, length(to)?, limits).map_err(|e| EvalError::NoPlan(e.to_string()))
}

/// The first plane of the plan; where nothing is above the target, the target itself.
pub(super) fn next_plane(args: &[Quantity]) -> Result<Quantity, EvalError> {
    let (required, step) = args.split_at_checked(3).unwrap_or((args, &[]));
    let [from, to, most] = arguments(required)?;
    let plan = plan(from, to, most, step.first().copied())?;
    Ok(plan.passes.first().map_or(to, |p| p.plane.into()))
}

pub(super) fn passes(args: &[Quantity]) -> Result<Quantity, EvalError> {
    let [from, to, most] = arguments(args)?;
    let count = plan(from, to, most, None)?.passes.len();
    Ok(Quantity::whole(i64::try_from(count).unwrap_or(i64::MAX)))
}

pub(super) fn skims_left(args: &[Quantity]) -> Result<SkimsLeft, EvalError> {
    let [thickness, least, steel, bite] = arguments(args)?;
    Ok(SkimsLeft::new(
        length(thickness)?,
        length(least)?,
        length(steel)?,
        one_skim(length(bite)?),
    ))
}

/// A remark that explains the result of a call, for example which of two limits decided it.
pub(crate) fn remark(name: &str, args: &[Quantity]) -> Option<String> {
    (name == "skims_left").then(|| skims_left(args).ok().map(SkimsLeft::words))?
}

pub(super) fn surface_speed(args: &[Quantity]) -> Result<Quantity, EvalError> {
    let [diameter, spindle] = arguments(args)?;
    Ok(speeds::surface_speed(diameter, spindle)?)
}

pub(super) fn chip_load(args: &[Quantity]) -> Result<Quantity, EvalError> {
    let [feed, spindle, teeth] = arguments(args)?;
    Ok(speeds::chip_load(feed, spindle, teeth)?)
}

pub(super) fn removal_rate(args: &[Quantity]) -> Result<Quantity, EvalError> {
    let [bite, width, feed] = arguments(args)?;
    Ok(speeds::removal_rate(bite, width, feed)?)
}

pub(super) fn raster_time(args: &[Quantity]) -> Result<Quantity, EvalError> {
    let [long, wide, diameter, step_over, feed, beyond] = arguments(args)?;
    let path = raster::raster(long, wide, diameter, step_over, beyond)?.path;
    Ok(path.over(feed)?)
}
