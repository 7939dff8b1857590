//! Answers that a demonstration invents where a step says nothing of practice: some that the step's own limits, words and
//! formulas allow. Each is shown as invented.

use super::truth::typed;
use crate::interlock::Instance;
use crate::interlock::formula_context::FormulaContext;
use crate::procedure::formula::eval::{self, Env, TouchedSurface};
use crate::procedure::formula::{Formula, Reference, Value};
use crate::procedure::model::{Kind, Limit, Limits, Options, Step};
use crate::quantity::{Dimension, Exact, Length, Quantity, Unit, UnitSystem};
use crate::terminal::prompt::About;
use crate::walk::session::kinds::work_out::typed_behind;

/// The answers that a step allows, those that are expected first; never empty.
pub(super) fn answers(step: &Step, about: Option<About<'_>>) -> Vec<String> {
    let mut found = match &step.kind {
        Kind::Choose {
            options: Options::Listed(options),
            must,
        } => words(options, must, about),
        Kind::Read {
            dimension, limits, ..
        } => numbers(*dimension, limits, about)
            .into_iter()
            .map(|q| typed(q, step))
            .collect(),
        Kind::Confirm { answer, .. } => vec![answer.clone()],
        // What the workshop has stands there; this is for the shop file's other items.
        Kind::Choose {
            options: Options::From(list),
            ..
        } => about
            .iter()
            .flat_map(|a| a.state.shop.items(*list))
            .map(|item| item.id.clone())
            .collect(),
        Kind::Note
        | Kind::Touch(_)
        | Kind::WorkOut { .. }
        | Kind::Enter(_)
        | Kind::Program { .. }
        | Kind::Codes(_)
        | Kind::Sign { .. }
        | Kind::Cut { .. }
        | Kind::Inspect
        | Kind::Wait { .. } => Vec::new(),
    };
    if found.is_empty() {
        found.push("0".to_owned());
    }
    found
}

/// The words of a choice, the only one that passes first.
fn words(options: &[(String, String)], must: &[Limit], about: Option<About<'_>>) -> Vec<String> {
    let only = must.iter().find_map(|limit| {
        let about = about?;
        match about.state.env(about.at).eval(limit.exactly.as_ref()?) {
            Ok(Value::Word(word)) => Some(word),
            _ => None,
        }
    });
    let all = options.iter().map(|(w, _)| w.clone());
    match only {
        Some(only) => vec![only],
        None => all.collect(),
    }
}

/// Numbers within the limits: those expected first, then those that only must not be refused.
fn numbers(dimension: Dimension, limits: &Limits, about: Option<About<'_>>) -> Vec<Quantity> {
    let Some(one) = unit_of(dimension) else {
        return Vec::new();
    };
    let Some(about) = about else {
        return vec![one];
    };
    let env = about.state.env(about.at);
    let all = || limits.expect.iter().chain(&limits.must);
    let values = |bound: fn(&Limit) -> [&Option<_>; 2]| -> Vec<Quantity> {
        let formulas = all().flat_map(bound).flatten();
        formulas.filter_map(|f| env.quantity(f).ok()).collect()
    };
    let exactly = values(|l| [&l.exactly, &None]);
    let lower = values(|l| [&l.at_least, &l.more_than]);
    let upper = values(|l| [&l.at_most, &l.less_than]);
    // Nothing in between, nothing shifted, nothing besides: what is most often so where nobody says.
    let mut tried = exactly;
    tried.push(Quantity {
        amount: Exact::ZERO,
        dimension,
    });
    for low in &lower {
        for high in &upper {
            // Halves, quarters and eighths of the way, then the bounds themselves.
            for (n, of) in [
                (1, 2),
                (1, 4),
                (3, 4),
                (1, 8),
                (1, 16),
                (7, 8),
                (0, 1),
                (1, 1),
            ] {
                let exact = between(*low, *high, n, of);
                tried.extend(exact.and_then(readable));
                tried.extend(exact);
            }
        }
    }
    for bound in lower.iter().chain(&upper) {
        tried.push(*bound);
        tried.extend(bound.plus(one).ok());
        tried.extend(bound.minus(one).ok());
    }
    tried.push(one);
    let judged = |q: &Quantity| about.state.judge(about.at, limits, *q).ok();
    let fits = |q: &&Quantity| matches!(judged(q), Some((None, None)));
    let passes = |q: &&Quantity| matches!(judged(q), Some((None, Some(_))));
    let mut found: Vec<Quantity> = Vec::new();
    for q in tried.iter().filter(fits).chain(tried.iter().filter(passes)) {
        if !found.contains(q) {
            found.push(*q);
        }
    }
    found
}

/// So many parts of the way from one to the other.
fn between(low: Quantity, high: Quantity, n: i128, of: i128) -> Option<Quantity> {
    let part = Quantity::ratio(Exact::fraction(n, of)?);
    low.plus(high.minus(low).ok()?.times(part).ok()?).ok()
}

/// A length to a hundredth of a millimetre, which readouts show.
fn readable(q: Quantity) -> Option<Quantity> {
    let hundredth = Length::COUNTS_PER_MM / 100;
    let counts = Length::nearest(q)?.counts();
    Length::from_counts((counts + hundredth / 2).div_euclid(hundredth) * hundredth)
        .map(Quantity::from)
}

/// One of the unit that people type it in.
fn unit_of(dimension: Dimension) -> Option<Quantity> {
    let unit = Unit::usual(dimension, UnitSystem::Mm)?;
    Quantity::of(Exact::ONE, &unit).ok()
}

/// The number to answer at an earlier step so that every value worked out from it comes within its limits: found by the
/// slope of each, or among the numbers that the earlier step allows.
pub(super) fn solved(about: About<'_>, id: &str) -> Option<Quantity> {
    let state = about.state;
    let of = state.referred(id, about.at)?;
    let asked = state.step(&of)?;
    let Kind::Read {
        dimension: own,
        limits: own_limits,
        ..
    } = &asked.kind
    else {
        return None;
    };
    let Some(Value::Quantity(now)) = state.answer(&of)?.value() else {
        return None;
    };
    let pass = state.procedure.pass_of(&about.at.step);
    let here = |s: &&Step| {
        state
            .procedure
            .pass_of(&s.id)
            .is_none_or(|p| Some(p) == pass)
    };
    let from_it: Vec<(&Step, Instance)> = state
        .procedure
        .steps()
        .filter(here)
        .map(|s| {
            let pass = state.procedure.pass_of(&s.id).and(about.at.pass);
            (s, Instance::new(&s.id, pass))
        })
        .filter(|(s, at)| typed_behind(state, at, s).iter().any(|b| b == id))
        .collect();
    let names: Vec<&str> = from_it.iter().map(|(s, _)| s.id.as_str()).collect();
    let values: Vec<WorkedOut<'_>> = from_it
        .iter()
        .filter_map(|(s, at)| WorkedOut::from(s, at, id, &names, about))
        .collect();
    let fits = |q: &Quantity| {
        let inside = matches!(state.judge(&of, own_limits, *q), Ok((None, _)));
        inside && values.iter().all(|v| v.fits(*q))
    };
    let mut tried: Vec<Quantity> = values
        .iter()
        .filter_map(|v| v.along(now, unit_of(*own)?))
        .flatten()
        .collect();
    tried.extend(numbers(*own, own_limits, Some(About { at: &of, ..about })));
    tried.into_iter().find(fits)
}

/// A value that is worked out from the step that is to be answered anew.
struct WorkedOut<'a> {
    about: About<'a>,
    id: &'a str,
    /// The steps that are worked out from it, by id.
    names: &'a [&'a str],
    value: &'a Formula,
    dimension: Dimension,
    limits: &'a Limits,
}

impl<'a> WorkedOut<'a> {
    fn from(
        step: &'a Step,
        at: &'a Instance,
        id: &'a str,
        names: &'a [&'a str],
        about: About<'a>,
    ) -> Option<Self> {
        let Kind::WorkOut {
            value,
            dimension,
            limits,
            ..
        } = &step.kind
        else {
            return None;
        };
        Some(Self {
            about: About { at, ..about },
            id,
            names,
            value,
            dimension: *dimension,
            limits,
        })
    }

    fn gives(&self, value: Quantity) -> Option<Quantity> {
        let with = With {
            of: self,
            base: self.about.state.env(self.about.at),
            value,
        };
        eval::quantity(&self.value.expr, &with).ok()
    }

    fn fits(&self, value: Quantity) -> bool {
        self.gives(value).is_none_or(|given| {
            let judged = self.about.state.judge(self.about.at, self.limits, given);
            !matches!(judged, Ok((Some(_), _)))
        })
    }

    /// The answers that bring it to values within its limits, were it a straight line.
    fn along(&self, now: Quantity, one: Quantity) -> Option<Vec<Quantity>> {
        let before = self.gives(now)?;
        let slope = self.gives(now.plus(one).ok()?)?.minus(before).ok()?;
        let wanted = numbers(self.dimension, self.limits, Some(self.about));
        let answers = wanted.into_iter().filter_map(|to| {
            let times = to.minus(before).ok()?.over(slope).ok()?;
            now.plus(one.times(times).ok()?).ok()
        });
        let both = answers.flat_map(|q| [readable(q), Some(q)]).flatten();
        Some(both.collect())
    }
}

/// Values of names as a run has them, but for one step that is answered otherwise, and whatever is worked out from it.
struct With<'a> {
    of: &'a WorkedOut<'a>,
    base: FormulaContext<'a>,
    value: Quantity,
}

impl Env for With<'_> {
    fn value_of(&self, name: &Reference) -> Option<Value> {
        if name.tail.is_some() {
            return self.base.value_of(name);
        }
        if name.head == self.of.id {
            return Some(Value::Quantity(self.value));
        }
        if !self.of.names.contains(&name.head.as_str()) {
            return self.base.value_of(name);
        }
        let step = self.of.about.state.procedure.step(&name.head)?;
        match &step.kind {
            // A formula names only steps above its own, so this comes to an end.
            Kind::WorkOut { value, .. } => eval::eval(&value.expr, self).ok(),
            Kind::Confirm { .. }
            | Kind::Choose { .. }
            | Kind::Read { .. }
            | Kind::Note
            | Kind::Touch(_)
            | Kind::Enter(_)
            | Kind::Program { .. }
            | Kind::Codes(_)
            | Kind::Sign { .. }
            | Kind::Cut { .. }
            | Kind::Inspect
            | Kind::Wait { .. } => self.base.value_of(name),
        }
    }

    fn previous(&self, step: &str) -> Option<Value> {
        self.base.previous(step)
    }
}

impl TouchedSurface for With<'_> {
    fn touched_near(&self, height: Length) -> Option<Length> {
        self.base.touched_near(height)
    }
}
