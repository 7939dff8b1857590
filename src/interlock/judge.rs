//! Judging a value against a step's limits.

use super::instance::Instance;
use super::state::State;
use crate::procedure::formula::{EvalError, Value};
use crate::procedure::model::{Limit, Limits};
use crate::quantity::range::{Bounds, Breach};
use crate::quantity::show::Show;
use crate::quantity::slip::{Likely, likeliest};
use crate::quantity::{Exact, Quantity};

/// A limit that a value breaks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Broken {
    /// The value.
    pub value: Quantity,
    /// The bound it breaks.
    pub breach: Breach,
    /// Why the limit is there.
    pub because: Option<String>,
    /// The likeliest slip behind it, for values that were typed.
    pub likely: Option<Likely>,
}

impl Broken {
    /// `0.9 mm is more than 0.5 mm; perhaps …`.
    pub fn words(&self, show: &Show) -> String {
        let relation = match self.breach.word {
            "at least" => "below the least allowed,",
            "at most" => "above the most allowed,",
            "more than" => "not above",
            "less than" => "not below",
            _ => "not exactly",
        };
        let mut text = format!(
            "{} is {relation} {}",
            show.both(self.value),
            show.both(self.breach.bound)
        );
        if let Some(because) = &self.because {
            text.push_str(&format!(" ({because})"));
        }
        if let Some(likely) = &self.likely {
            text.push_str(&format!(
                "; perhaps {}: {} would fit",
                likely.slip.words(),
                show.both(likely.meant)
            ));
        }
        text
    }

    /// The limit alone, for the record.
    pub fn limit_words(&self, show: &Show) -> String {
        format!("{} {}", self.breach.word, show.both(self.breach.bound))
    }
}

impl State {
    /// The first hard limit that `value` breaks, and the first soft one.
    pub fn judge(
        &self,
        at: &Instance,
        limits: &Limits,
        value: Quantity,
    ) -> Result<(Option<Broken>, Option<Broken>), EvalError> {
        let must = self.bounds(at, &limits.must, value)?;
        let expect = self.bounds(at, &limits.expect, value)?;
        let fits = |v: Quantity| {
            must.iter()
                .chain(&expect)
                .all(|(b, _)| b.breach(v).is_none())
        };
        let first = |all: &[(Bounds, Option<String>)]| {
            all.iter().find_map(|(bounds, because)| {
                let breach = bounds.breach(value)?;
                Some(Broken {
                    value,
                    breach,
                    because: because.clone(),
                    // A value just past its limit is a value just past its limit, not a slip.
                    likely: likeliest(value, fits).filter(|_| !near(value, breach.bound)),
                })
            })
        };
        Ok((first(&must), first(&expect)))
    }

    /// The limits of a step in words, hard ones first; empty where it has none.
    pub fn limit_words(&self, at: &Instance, limits: &Limits, show: &Show) -> Vec<String> {
        // The own value is not known yet, and limits that name it cannot be told before it is.
        let nought = Quantity::whole(0);
        let line = |word: &str, all: &[Limit]| {
            self.bounds(at, all, nought)
                .into_iter()
                .flatten()
                .map(|(b, _)| format!("{word} be {}", b.words(show)))
                .collect::<Vec<_>>()
        };
        let mut lines = line("must", &limits.must);
        lines.extend(line("is expected to", &limits.expect));
        lines
    }

    fn bounds(
        &self,
        at: &Instance,
        limits: &[Limit],
        value: Quantity,
    ) -> Result<Vec<(Bounds, Option<String>)>, EvalError> {
        let env = self.env(at).with_value(Value::Quantity(value));
        limits
            .iter()
            .map(|limit| {
                let bound = |f: &Option<crate::procedure::formula::Formula>| {
                    f.as_ref().map(|f| env.quantity(f)).transpose()
                };
                let bounds = Bounds {
                    at_least: bound(&limit.at_least)?,
                    at_most: bound(&limit.at_most)?,
                    more_than: bound(&limit.more_than)?,
                    less_than: bound(&limit.less_than)?,
                    exactly: bound(&limit.exactly)?,
                };
                Ok((bounds, limit.because.clone()))
            })
            .collect()
    }
}

/// Whether a value is of the size and sign of a bound: within a factor of two of it.
fn near(value: Quantity, bound: Quantity) -> bool {
    let ratio = value.over(bound).map(|r| r.amount);
    let half = Exact::fraction(1, 2);
    ratio.is_ok_and(|r| Some(r) >= half && r <= Exact::whole(2))
}
