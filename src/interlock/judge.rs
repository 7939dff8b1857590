//! Checks a value against a step's limits.

use super::instance::Instance;
use super::state::State;
use crate::procedure::Kind;
use crate::procedure::formula::{EvalError, Value};
use crate::procedure::model::{Limit, Limits};
use crate::quantity::format::QuantityFormat;
use crate::quantity::range::{Bounds, BrokenBound};
use crate::quantity::slip::{LikelySlip, likeliest};
use crate::quantity::{Exact, Quantity};

/// A limit that a value breaks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BrokenLimit {
    /// The value.
    pub value: Quantity,
    /// The bound it breaks.
    pub breach: BrokenBound,
    /// Why the limit is there.
    pub because: Option<String>,
    /// The most likely typing mistake behind it, for values that were typed.
    pub likely: Option<LikelySlip>,
}

impl BrokenLimit {
    /// `0.9 mm is more than 0.5 mm; perhaps …`.
    pub(crate) fn words(&self, show: &QuantityFormat) -> String {
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
    pub(crate) fn limit_words(&self, show: &QuantityFormat) -> String {
        format!("{} {}", self.breach.word, show.both(self.breach.bound))
    }
}

impl State {
    /// The first hard limit that `value` breaks, and the first soft one.
    pub(crate) fn judge(
        &self,
        at: &Instance,
        limits: &Limits,
        value: Quantity,
    ) -> Result<(Option<BrokenLimit>, Option<BrokenLimit>), EvalError> {
        let must = self.bounds(at, &limits.must, value)?;
        let expect = self.bounds(at, &limits.expect, value)?;
        let fits = |v: Quantity| {
            must.iter()
                .chain(&expect)
                .all(|(b, _)| b.breach(v).is_none())
        };
        // Nobody typed a value that is worked out.
        let is_typed = self
            .step(at)
            .is_none_or(|step| !matches!(step.kind, Kind::WorkOut { .. }));
        let first = |all: &[(Bounds, Option<String>)]| {
            all.iter().find_map(|(bounds, because)| {
                let breach = bounds.breach(value)?;
                Some(BrokenLimit {
                    value,
                    breach,
                    because: because.clone(),
                    // A value just outside its limit is usually right, not a typing mistake.
                    likely: likeliest(value, fits)
                        .filter(|_| is_typed && !near(value, breach.bound)),
                })
            })
        };
        Ok((first(&must), first(&expect)))
    }

    /// The limits of a step in words, hard ones first; empty where it has none.
    pub fn limit_words(
        &self,
        at: &Instance,
        limits: &Limits,
        show: &QuantityFormat,
    ) -> Vec<String> {
        // The step's own value is not known yet, so limits that depend on it cannot be shown.
        let zero = Quantity::whole(0);
        let line = |word: &str, all: &[Limit]| {
            self.bounds(at, all, zero)
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

/// Whether a value has the sign of a bound and is within a factor of two of it.
fn near(value: Quantity, bound: Quantity) -> bool {
    let ratio = value.over(bound).map(|r| r.amount);
    let half = Exact::fraction(1, 2);
    ratio.is_ok_and(|r| Some(r) >= half && r <= Exact::whole(2))
}

#[cfg(test)]
mod tests {
    use super::super::refusal::Refusal;
    use super::super::testing::{TestRun, at, pass, q};
    use super::{BrokenBound, BrokenLimit, LikelySlip};
    use crate::procedure::Kind;
    use crate::quantity::slip::Slip;

    fn broken(word: &'static str) -> BrokenLimit {
        BrokenLimit {
            value: q("0.9"),
            breach: BrokenBound {
                word,
                bound: q("0.5"),
            },
            because: None,
            likely: None,
        }
    }

    /// The limits of the speed, 100 to 6000 rpm, held against a value that somebody typed and against one that nobody did.
    #[test]
    fn a_value_that_is_worked_out_has_no_slip_of_typing() {
        let mut rig = TestRun::new();
        rig.word(at("cutter"), "c12").unwrap();
        let Kind::Read { limits, .. } = rig.state.step(&at("speed")).unwrap().kind.clone() else {
            panic!("the speed is not read");
        };
        let likely = |of| {
            let (must, _) = rig.state.judge(&of, &limits, q("-3000 rpm")).unwrap();
            must.unwrap().likely.map(|l| l.slip)
        };
        assert_eq!(likely(at("speed")), Some(Slip::Sign));
        assert_eq!(likely(at("found")), None);
    }

    /// The inches were computed by hand: 0.9 / 25.4 = 0.03543 and 0.5 / 25.4 = 0.01969.
    #[test]
    fn a_broken_limit_is_shown_with_value_relation_and_bound() {
        let show = TestRun::new().state.show();
        for (word, relation) in [
            ("at least", "below the least allowed,"),
            ("at most", "above the most allowed,"),
            ("more than", "not above"),
            ("less than", "not below"),
            ("exactly", "not exactly"),
        ] {
            let bound = "0.5 mm (~0.01969 in)";
            assert_eq!(
                broken(word).words(&show),
                format!("0.9 mm (~0.03543 in) is {relation} {bound}")
            );
            assert_eq!(broken(word).limit_words(&show), format!("{word} {bound}"));
        }
        let words = BrokenLimit {
            because: Some("steel".into()),
            likely: Some(LikelySlip {
                slip: Slip::PointRight,
                meant: q("0.09"),
            }),
            ..broken("at most")
        };
        let words = words.words(&show);
        let ending = "(steel); perhaps the decimal point is one place too far right: 0.09 mm (~0.00354 in) would fit";
        assert!(words.ends_with(ending), "{words}");
    }

    /// The small procedure allows 100 to 6000 rpm. A value up to twice or down to half of a bound is no typing mistake.
    #[test]
    fn a_value_just_past_its_limit_is_not_called_a_typing_mistake() {
        for (typed, slip) in [
            ("50 rpm", None),
            ("49 rpm", Some(Slip::PointLeft)),
            ("12000 rpm", None),
            ("12001 rpm", Some(Slip::PointRight)),
            ("-3000 rpm", Some(Slip::Sign)),
        ] {
            let mut rig = TestRun::new();
            rig.word(at("cutter"), "c12").unwrap();
            rig.word(at("plate"), "bed-a").unwrap();
            rig.word(at("eyes"), "worn").unwrap();
            rig.word(at("home"), "homed").unwrap();
            let Err(Refusal::Hard(broken)) = rig.number(at("speed"), typed) else {
                panic!("{typed} passed");
            };
            assert_eq!(broken.likely.map(|l| l.slip), slip, "{typed}");
        }
    }

    #[test]
    fn the_limits_are_shown_before_anything_is_typed() {
        let rig = TestRun::new();
        let of = pass("clearance", 1);
        let Some(Kind::Read { limits, .. }) = rig.state.step(&of).map(|s| &s.kind) else {
            panic!("no reading");
        };
        assert_eq!(
            rig.state.limit_words(&of, limits, &rig.state.show()),
            [
                "must be at least 0 mm (0 in) and at most 0.5 mm (~0.01969 in)",
                "is expected to be at most 0.15 mm (~0.00591 in)"
            ]
        );
    }
}
