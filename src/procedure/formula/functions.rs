//! The functions that a formula may call: one table with the name, kinds, meaning and value of each.
//!
//! The way in which a value is computed ([`Evaluate`]) decides what a call depends on in addition to its arguments.
//! Only [`Evaluate::Surface`] gets the touched surface, so no function can use the surface without depending on it.

use super::check::Type;
use super::eval::{EvalError, TouchedSurface};
use super::function_values::{
    arguments, chip_load, next_plane, passes, pick, raster_time, removal_rate, skims_left, spread,
    stepped, surface_speed, touched_near,
};
use super::value::Touches;
use crate::quantity::{Dimension, Exact, Quantity};
use std::cmp::Ordering;

/// The kind that an argument must have.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ArgumentType {
    /// A touch step.
    Touches,
    /// A quantity of this kind.
    Kind(Dimension),
    /// A quantity of any kind. All such arguments of one call must have the same kind.
    Same,
    /// The name of a step of the same pass.
    Step,
    /// The name of an earlier step that is not always asked.
    AskedOrNot,
}

/// The kind that a call gives.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ResultType {
    /// A quantity of this kind.
    Kind(Dimension),
    /// A quantity of the kind of its `Same` arguments.
    Same,
}

/// How the value of a call is computed. This decides what the value depends on in addition to its arguments.
#[derive(Clone, Copy)]
pub enum Evaluate {
    /// From quantities only.
    Numbers(fn(&[Quantity]) -> Result<Quantity, EvalError>),
    /// From one finished series of touches.
    Touches(fn(&Touches) -> Result<Quantity, EvalError>),
    /// From quantities and the surface touched so far. It depends on every touch and cut before it.
    Surface(fn(&[Quantity], &dyn TouchedSurface) -> Result<Quantity, EvalError>),
    /// The value in the previous pass of the step that the first argument names; in the first pass the second argument.
    PassBefore,
    /// The value of the step that the first argument names where it was asked; else the second argument.
    IfAsked,
}

/// A function of formulas.
pub struct Function {
    /// The name.
    pub name: &'static str,
    /// The kinds of its arguments. With `variadic` the last may be repeated.
    pub wants: &'static [ArgumentType],
    /// The smallest number of arguments.
    pub least: usize,
    /// Whether the last argument may be repeated.
    pub variadic: bool,
    /// The kind of the result.
    pub gives: ResultType,
    /// The arguments and the meaning, for messages and help.
    pub about: &'static str,
    /// How its value is computed.
    pub evaluate: Evaluate,
}

const LENGTH: ArgumentType = ArgumentType::Kind(Dimension::LENGTH);
const GIVES_LENGTH: ResultType = ResultType::Kind(Dimension::LENGTH);
const GIVES_RATIO: ResultType = ResultType::Kind(Dimension::RATIO);

const fn function(
    name: &'static str,
    wants: &'static [ArgumentType],
    least: usize,
    gives: ResultType,
    about: &'static str,
    evaluate: Evaluate,
) -> Function {
    Function {
        name,
        wants,
        least,
        variadic: false,
        gives,
        about,
        evaluate,
    }
}

/// Every function.
pub const FUNCTIONS: &[Function] = &[
    function(
        "lowest",
        &[ArgumentType::Touches],
        1,
        GIVES_LENGTH,
        "lowest(touches): height of the lowest point touched",
        Evaluate::Touches(|t| Ok(t.lowest.into())),
    ),
    function(
        "highest",
        &[ArgumentType::Touches],
        1,
        GIVES_LENGTH,
        "highest(touches): height of the highest point touched",
        Evaluate::Touches(|t| Ok(t.highest.into())),
    ),
    function(
        "spread",
        &[ArgumentType::Touches],
        1,
        GIVES_LENGTH,
        "spread(touches): highest minus lowest",
        Evaluate::Touches(spread),
    ),
    function(
        "drift",
        &[ArgumentType::Touches],
        1,
        GIVES_LENGTH,
        "drift(touches): how far the first point moved by its closing touch",
        Evaluate::Touches(|t| Ok(t.drift.into())),
    ),
    function(
        "repeatability",
        &[ArgumentType::Touches],
        1,
        GIVES_LENGTH,
        "repeatability(touches): scatter of repeated touches",
        Evaluate::Touches(|t| Ok(t.repeatability.into())),
    ),
    function(
        "points",
        &[ArgumentType::Touches],
        1,
        GIVES_RATIO,
        "points(touches): how many points were touched",
        Evaluate::Touches(|t| Ok(Quantity::whole(i64::from(t.points)))),
    ),
    function(
        "touched_near",
        &[LENGTH],
        1,
        GIVES_LENGTH,
        "touched_near(height): height of the touched point that is nearest to it",
        Evaluate::Surface(touched_near),
    ),
    Function {
        variadic: true,
        ..function(
            "min",
            &[ArgumentType::Same, ArgumentType::Same],
            2,
            ResultType::Same,
            "min(a, b, ...): the least",
            Evaluate::Numbers(|all| pick(all, Ordering::Less)),
        )
    },
    Function {
        variadic: true,
        ..function(
            "max",
            &[ArgumentType::Same, ArgumentType::Same],
            2,
            ResultType::Same,
            "max(a, b, ...): the greatest",
            Evaluate::Numbers(|all| pick(all, Ordering::Greater)),
        )
    },
    function(
        "abs",
        &[ArgumentType::Same],
        1,
        ResultType::Same,
        "abs(a): without its sign",
        Evaluate::Numbers(|args| arguments(args).map(|[a]| a.abs())),
    ),
    function(
        "round_up",
        &[ArgumentType::Same, ArgumentType::Same],
        2,
        ResultType::Same,
        "round_up(a, step): up to a whole number of steps",
        Evaluate::Numbers(|args| stepped(args, Exact::ceil)),
    ),
    function(
        "round_down",
        &[ArgumentType::Same, ArgumentType::Same],
        2,
        ResultType::Same,
        "round_down(a, step): down to a whole number of steps",
        Evaluate::Numbers(|args| stepped(args, Exact::floor)),
    ),
    function(
        "round",
        &[ArgumentType::Same, ArgumentType::Same],
        2,
        ResultType::Same,
        "round(a, step): to the nearest whole number of steps",
        Evaluate::Numbers(|args| stepped(args, Exact::round)),
    ),
    function(
        "previous",
        &[ArgumentType::Step, ArgumentType::Same],
        2,
        ResultType::Same,
        "previous(step, otherwise): the step's value in the previous pass",
        Evaluate::PassBefore,
    ),
    function(
        "asked",
        &[ArgumentType::AskedOrNot, ArgumentType::Same],
        2,
        ResultType::Same,
        "asked(step, otherwise): the step's value where its `when` lets it be asked",
        Evaluate::IfAsked,
    ),
    function(
        "moved",
        &[ArgumentType::Touches],
        1,
        GIVES_LENGTH,
        "moved(touches): how far the last point lay from the height known of it before; 0 for a new point",
        Evaluate::Touches(|t| Ok(t.moved.into())),
    ),
    function(
        "next_plane",
        &[LENGTH, LENGTH, LENGTH, LENGTH],
        3,
        GIVES_LENGTH,
        "next_plane(from, to, most, step): first plane of equal passes from one height down to another, none deeper than most",
        Evaluate::Numbers(next_plane),
    ),
    function(
        "passes",
        &[LENGTH, LENGTH, LENGTH],
        3,
        GIVES_RATIO,
        "passes(from, to, most): how many equal passes that takes",
        Evaluate::Numbers(passes),
    ),
    function(
        "skims_left",
        &[LENGTH, LENGTH, LENGTH, LENGTH],
        4,
        GIVES_RATIO,
        "skims_left(thickness, least thickness, over steel, finishing bite): skims left, the least by thickness and by steel",
        Evaluate::Numbers(|args| Ok(Quantity::whole(skims_left(args)?.count()))),
    ),
    function(
        "surface_speed",
        &[LENGTH, ArgumentType::Kind(Dimension::SPINDLE_SPEED)],
        2,
        ResultType::Kind(Dimension::FEED),
        "surface_speed(diameter, spindle speed): speed of the rim, pi D N",
        Evaluate::Numbers(surface_speed),
    ),
    function(
        "chip_load",
        &[
            ArgumentType::Kind(Dimension::FEED),
            ArgumentType::Kind(Dimension::SPINDLE_SPEED),
            ArgumentType::Kind(Dimension::TEETH),
        ],
        3,
        ResultType::Kind(Dimension::CHIP_LOAD),
        "chip_load(feed, spindle speed, teeth): advance per tooth",
        Evaluate::Numbers(chip_load),
    ),
    function(
        "removal_rate",
        &[LENGTH, LENGTH, ArgumentType::Kind(Dimension::FEED)],
        3,
        ResultType::Kind(Dimension::REMOVAL_RATE),
        "removal_rate(bite, width, feed): volume cut per time",
        Evaluate::Numbers(removal_rate),
    ),
    function(
        "raster_time",
        &[
            LENGTH,
            LENGTH,
            LENGTH,
            LENGTH,
            ArgumentType::Kind(Dimension::FEED),
            LENGTH,
        ],
        6,
        ResultType::Kind(Dimension::TIME),
        "raster_time(long, wide, diameter, step over, feed, beyond): time of one raster",
        Evaluate::Numbers(raster_time),
    ),
];

/// The function with this name.
pub(crate) fn find(name: &str) -> Option<&'static Function> {
    FUNCTIONS.iter().find(|f| f.name == name)
}

impl Function {
    /// The kind that the argument at `index` must have; `None` when there is no such argument.
    pub(crate) fn wants(&self, index: usize) -> Option<ArgumentType> {
        let last = self.variadic.then(|| self.wants.last()).flatten();
        self.wants.get(index).or(last).copied()
    }

    /// The kind of the result, given the kind of the `Same` arguments.
    pub(crate) fn type_given(&self, same: Option<Dimension>) -> Option<Type> {
        match self.gives {
            ResultType::Kind(d) => Some(Type::Quantity(d)),
            ResultType::Same => same.map(Type::Quantity),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{FUNCTIONS, find};

    #[test]
    fn the_table_is_complete() {
        for f in FUNCTIONS {
            assert!(f.about.starts_with(f.name), "{}", f.name);
            assert!(f.least <= f.wants.len(), "{}", f.name);
            assert_eq!(FUNCTIONS.iter().filter(|g| g.name == f.name).count(), 1);
            assert!(find(f.name).is_some());
        }
    }
}
