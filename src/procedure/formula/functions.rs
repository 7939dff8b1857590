//! The functions a formula may call: one table with name, kinds, and what each says of itself.

use super::check::Type;
use super::eval::EvalError;
use super::value::{Touches, Value};
use crate::cutting::{raster, speeds};
use crate::plate::{Limits, Plan};
use crate::quantity::{Dimension, Exact, Length, Quantity};

/// What kind an argument must be.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Wants {
    /// A touch step.
    Touches,
    /// A quantity of this kind.
    Kind(Dimension),
    /// A quantity of any kind; all such arguments of one call are of the same.
    Same,
    /// The name of a step of the same pass.
    Step,
}

/// What kind a call gives.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Gives {
    /// A quantity of this kind.
    Kind(Dimension),
    /// A quantity of the kind of its `Same` arguments.
    Same,
}

/// A function.
pub struct Function {
    /// How it is called.
    pub name: &'static str,
    /// Its arguments; the last may repeat when `variadic`, the ones from `optional` on may be left out.
    pub wants: &'static [Wants],
    /// How many arguments are needed at least.
    pub least: usize,
    /// Whether the last argument may repeat.
    pub variadic: bool,
    /// What it gives.
    pub gives: Gives,
    /// Arguments and meaning, for messages and help.
    pub says: &'static str,
}

const LENGTH: Wants = Wants::Kind(Dimension::LENGTH);
const GIVES_LENGTH: Gives = Gives::Kind(Dimension::LENGTH);
const GIVES_RATIO: Gives = Gives::Kind(Dimension::RATIO);

const fn function(
    name: &'static str,
    wants: &'static [Wants],
    least: usize,
    gives: Gives,
    says: &'static str,
) -> Function {
    Function {
        name,
        wants,
        least,
        variadic: false,
        gives,
        says,
    }
}

/// Every function.
pub const FUNCTIONS: &[Function] = &[
    function(
        "lowest",
        &[Wants::Touches],
        1,
        GIVES_LENGTH,
        "lowest(touches): height of the lowest point touched",
    ),
    function(
        "highest",
        &[Wants::Touches],
        1,
        GIVES_LENGTH,
        "highest(touches): height of the highest point touched",
    ),
    function(
        "spread",
        &[Wants::Touches],
        1,
        GIVES_LENGTH,
        "spread(touches): highest less lowest",
    ),
    function(
        "drift",
        &[Wants::Touches],
        1,
        GIVES_LENGTH,
        "drift(touches): how far the first point moved by its closing touch",
    ),
    function(
        "repeatability",
        &[Wants::Touches],
        1,
        GIVES_LENGTH,
        "repeatability(touches): scatter of repeated touches",
    ),
    function(
        "points",
        &[Wants::Touches],
        1,
        GIVES_RATIO,
        "points(touches): how many points were touched",
    ),
    function(
        "touched_near",
        &[LENGTH],
        1,
        GIVES_LENGTH,
        "touched_near(height): height of the touched place that is nearest to it",
    ),
    Function {
        variadic: true,
        ..function(
            "min",
            &[Wants::Same, Wants::Same],
            2,
            Gives::Same,
            "min(a, b, ...): the least",
        )
    },
    Function {
        variadic: true,
        ..function(
            "max",
            &[Wants::Same, Wants::Same],
            2,
            Gives::Same,
            "max(a, b, ...): the greatest",
        )
    },
    function(
        "abs",
        &[Wants::Same],
        1,
        Gives::Same,
        "abs(a): without its sign",
    ),
    function(
        "round_up",
        &[Wants::Same, Wants::Same],
        2,
        Gives::Same,
        "round_up(a, step): up to a whole number of steps",
    ),
    function(
        "round_down",
        &[Wants::Same, Wants::Same],
        2,
        Gives::Same,
        "round_down(a, step): down to a whole number of steps",
    ),
    function(
        "round",
        &[Wants::Same, Wants::Same],
        2,
        Gives::Same,
        "round(a, step): to the nearest whole number of steps",
    ),
    function(
        "previous",
        &[Wants::Step, Wants::Same],
        2,
        Gives::Same,
        "previous(step, otherwise): the step's value in the pass before this one",
    ),
    function(
        "next_plane",
        &[LENGTH, LENGTH, LENGTH, LENGTH],
        3,
        GIVES_LENGTH,
        "next_plane(from, to, most, step): first plane of equal passes from one height down to another, none deeper than most",
    ),
    function(
        "passes",
        &[LENGTH, LENGTH, LENGTH],
        3,
        GIVES_RATIO,
        "passes(from, to, most): how many equal passes that takes",
    ),
    function(
        "surface_speed",
        &[LENGTH, Wants::Kind(Dimension::SPINDLE_SPEED)],
        2,
        Gives::Kind(Dimension::FEED),
        "surface_speed(diameter, spindle speed): speed of the rim, pi D N",
    ),
    function(
        "chip_load",
        &[
            Wants::Kind(Dimension::FEED),
            Wants::Kind(Dimension::SPINDLE_SPEED),
            Wants::Kind(Dimension::TEETH),
        ],
        3,
        Gives::Kind(Dimension::CHIP_LOAD),
        "chip_load(feed, spindle speed, teeth): advance per tooth",
    ),
    function(
        "removal_rate",
        &[LENGTH, LENGTH, Wants::Kind(Dimension::FEED)],
        3,
        Gives::Kind(Dimension::REMOVAL_RATE),
        "removal_rate(bite, width, feed): volume cut per time",
    ),
    function(
        "raster_time",
        &[
            LENGTH,
            LENGTH,
            LENGTH,
            LENGTH,
            Wants::Kind(Dimension::FEED),
            LENGTH,
        ],
        6,
        Gives::Kind(Dimension::TIME),
        "raster_time(long, wide, diameter, step over, feed, beyond): time of one raster",
    ),
];

/// The function of that name.
pub fn find(name: &str) -> Option<&'static Function> {
    FUNCTIONS.iter().find(|f| f.name == name)
}

impl Function {
    /// What the argument at `index` must be; `None` when there is none.
    pub fn wants(&self, index: usize) -> Option<Wants> {
        let last = self.variadic.then(|| self.wants.last()).flatten();
        self.wants.get(index).or(last).copied()
    }

    /// The kind it gives, once the kind of its `Same` arguments is known.
    pub fn type_given(&self, same: Option<Dimension>) -> Option<Type> {
        match self.gives {
            Gives::Kind(d) => Some(Type::Quantity(d)),
            Gives::Same => same.map(Type::Quantity),
        }
    }
}

/// Works out a call (all but `previous`, which needs to know the pass, and `touched_near`, which needs the plate).
pub fn call(name: &str, args: &[Value]) -> Result<Quantity, EvalError> {
    if let [Value::Touches(touches)] = args {
        return of_touches(name, touches);
    }
    let numbers: Vec<Quantity> = args
        .iter()
        .map(|v| match v {
            Value::Quantity(q) => Ok(*q),
            _ => Err(EvalError::Unsound(name.to_owned())),
        })
        .collect::<Result<_, _>>()?;
    match (name, numbers.as_slice()) {
        ("min", [first, rest @ ..]) => pick(*first, rest, std::cmp::Ordering::Less),
        ("max", [first, rest @ ..]) => pick(*first, rest, std::cmp::Ordering::Greater),
        ("abs", [a]) => Ok(a.abs()),
        ("round_up", [a, step]) => stepped(*a, *step, Exact::ceil),
        ("round_down", [a, step]) => stepped(*a, *step, Exact::floor),
        ("round", [a, step]) => stepped(*a, *step, Exact::round),
        ("next_plane", [from, to, most, step @ ..]) => {
            next_plane(*from, *to, *most, step.first().copied())
        }
        ("passes", [from, to, most]) => {
            let plan = plan(*from, *to, *most, None)?;
            let count = i64::try_from(plan.passes.len()).unwrap_or(i64::MAX);
            Ok(Quantity::whole(count))
        }
        ("surface_speed", [d, n]) => Ok(speeds::surface_speed(*d, *n)?),
        ("chip_load", [f, n, z]) => Ok(speeds::chip_load(*f, *n, *z)?),
        ("removal_rate", [b, w, f]) => Ok(speeds::removal_rate(*b, *w, *f)?),
        ("raster_time", [long, wide, d, s, feed, beyond]) => {
            let path = raster::raster(*long, *wide, *d, *s, *beyond)?.path;
            Ok(path.over(*feed)?)
        }
        _ => Err(EvalError::Unsound(name.to_owned())),
    }
}

fn of_touches(name: &str, touches: &Touches) -> Result<Quantity, EvalError> {
    let length: Length = match name {
        "lowest" => touches.lowest,
        "highest" => touches.highest,
        "spread" => touches
            .highest
            .minus(touches.lowest)
            .ok_or(EvalError::OutOfReach)?,
        "drift" => touches.drift,
        "repeatability" => touches.repeatability,
        "points" => return Ok(Quantity::whole(i64::from(touches.points))),
        _ => return Err(EvalError::Unsound(name.to_owned())),
    };
    Ok(length.into())
}

fn pick(
    first: Quantity,
    rest: &[Quantity],
    wanted: std::cmp::Ordering,
) -> Result<Quantity, EvalError> {
    rest.iter().try_fold(first, |best, next| {
        Ok(if next.compare(best)? == wanted {
            *next
        } else {
            best
        })
    })
}

fn stepped(a: Quantity, step: Quantity, to: fn(Exact) -> i128) -> Result<Quantity, EvalError> {
    if step.amount <= Exact::ZERO {
        return Err(EvalError::StepNotAboveNought);
    }
    let steps = to(a.over(step)?.amount);
    let steps = Exact::fraction(steps, 1).ok_or(EvalError::OutOfReach)?;
    Ok(step.times(Quantity::ratio(steps))?)
}

/// Equal passes between two heights, through the plate's own planning.
fn plan(
    from: Quantity,
    to: Quantity,
    most: Quantity,
    step: Option<Quantity>,
) -> Result<Plan, EvalError> {
    let length = |q: Quantity| Length::nearest(q).ok_or(EvalError::OutOfReach);
    let limits = Limits {
        max_bite: length(most)?,
        finish: None,
        step: step.map(length).transpose()?,
    };
    Plan::new(length(from)?, length(to)?, limits).map_err(|e| EvalError::NoPlan(e.to_string()))
}

/// The first plane of the plan; where nothing stands above the target, the target itself.
fn next_plane(
    from: Quantity,
    to: Quantity,
    most: Quantity,
    step: Option<Quantity>,
) -> Result<Quantity, EvalError> {
    let plan = plan(from, to, most, step)?;
    Ok(plan.passes.first().map_or(to, |p| p.plane.into()))
}

#[cfg(test)]
mod tests {
    use super::{FUNCTIONS, find};

    #[test]
    fn the_table_is_whole() {
        for f in FUNCTIONS {
            assert!(f.says.starts_with(f.name), "{}", f.name);
            assert!(f.least <= f.wants.len(), "{}", f.name);
            assert_eq!(FUNCTIONS.iter().filter(|g| g.name == f.name).count(), 1);
            assert!(find(f.name).is_some());
        }
    }
}
