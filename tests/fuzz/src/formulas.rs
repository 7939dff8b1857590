//! Formulas: read or refused with a place inside the text. One that was checked without a finding is never unsound when it
//! is worked out, gives the kind that was foretold, and is written so that it can be read again.

use super::pick::Picks;
use skimgate::diagnostics::{Findings, Span};
use skimgate::procedure::formula::check::{Names, Type, Unknown, check};
use skimgate::procedure::formula::eval::{Env, TouchedSurface, eval};
use skimgate::procedure::formula::parse::formula;
use skimgate::procedure::formula::value::Touches;
use skimgate::procedure::formula::working::{lines, written};
use skimgate::procedure::formula::{EvalError, Formula, Reference, Value};
use skimgate::procedure::node::{Bytes, Scalar};
use skimgate::quantity::format::QuantityFormat;
use skimgate::quantity::{Dimension, Exact, Length, Quantity, UnitSystem};

/// One name of each kind, by its first letter.
fn kind(head: &str) -> Option<Type> {
    Some(match head.as_bytes().first()? {
        b'l' => Type::Quantity(Dimension::LENGTH),
        b't' => Type::Quantity(Dimension::TIME),
        b'r' => Type::Quantity(Dimension::RATIO),
        b's' => Type::Quantity(Dimension {
            turn: 1,
            time: -1,
            ..Dimension::RATIO
        }),
        b'w' => Type::Words(vec!["yes".into(), "no".into(), "not yet".into()]),
        b'c' => Type::Touches,
        _ => return None,
    })
}

/// Amounts to put in for names: usual ones and those at the ends of what can be held.
fn amounts() -> [Option<Exact>; 8] {
    let far = Length::from_counts(i64::MAX / 16).map_or(Exact::ONE, |l| Quantity::from(l).amount);
    [
        Some(Exact::ONE),
        Some(Exact::ZERO),
        Exact::fraction(-12, 100),
        Exact::fraction(1, 3),
        Exact::fraction(i128::MAX, 7),
        Exact::fraction(1, i128::MAX),
        Some(far),
        None,
    ]
}

struct Given(Vec<Option<Exact>>);

impl Given {
    fn value(&self, name: &str) -> Option<Value> {
        let last = usize::from(*name.as_bytes().last()?);
        let amount = self.0[last % self.0.len()]?;
        let length = |amount: Exact| {
            Length::nearest(Quantity {
                amount,
                dimension: Dimension::LENGTH,
            })
        };
        Some(match kind(name)? {
            Type::Quantity(dimension) => Value::Quantity(Quantity { amount, dimension }),
            Type::Words(words) => Value::Word(words[last % words.len()].clone()),
            _ => Value::Touches(Touches {
                points: 3,
                lowest: length(amount.negated())?,
                highest: length(amount)?,
                drift: Length::ZERO,
                repeatability: Length::ZERO,
                moved: Length::ZERO,
            }),
        })
    }
}

fn unknown() -> Unknown {
    Unknown {
        message: "no such name".into(),
        help: None,
    }
}

impl Names for Given {
    fn kind_of(&self, name: &Reference) -> Result<Type, Unknown> {
        kind(&name.head).ok_or_else(unknown)
    }

    fn has_previous(&self, step: &str) -> Result<Type, Unknown> {
        kind(step).ok_or_else(unknown)
    }

    fn if_asked(&self, step: &str) -> Result<Type, Unknown> {
        kind(step).ok_or_else(unknown)
    }
}

impl TouchedSurface for Given {
    fn touched_near(&self, height: Length) -> Option<Length> {
        Some(height)
    }
}

impl Env for Given {
    fn value_of(&self, name: &Reference) -> Option<Value> {
        self.value(&name.head)
    }

    fn previous(&self, step: &str) -> Option<Value> {
        self.value(step)
    }
}

fn read(text: &str) -> Option<Formula> {
    let scalar = Scalar {
        text: text.to_owned(),
        span: Span::new(0, text.len()),
        bytes: Bytes::Run(0),
        quoted: false,
    };
    match formula(&scalar) {
        Ok(formula) => Some(formula),
        Err(fault) => {
            assert!(fault.span.start <= fault.span.end && fault.span.end <= text.len());
            assert!(!fault.message.is_empty());
            None
        }
    }
}

pub fn run(data: &[u8]) {
    let mut picks = Picks(data);
    let all = amounts();
    let given = Given((0..4).map(|_| picks.of(&all)).collect());
    let text = String::from_utf8_lossy(picks.0).into_owned();
    let Some(formula) = read(&text) else { return };
    let mut findings = Findings::default();
    let found = check(&formula, &given, &mut findings);
    let show = QuantityFormat::new(UnitSystem::Mm);
    for line in lines("x", &formula, &given, &show) {
        assert!(!line.is_empty());
    }
    let told = eval(&formula.expr, &given);
    if findings.any_error() {
        return;
    }
    match (&found, told) {
        (None, _) => panic!("no kind and no finding: {text}"),
        (_, Err(EvalError::Unsound(what))) => panic!("checked, and `{what}` is unsound: {text}"),
        (Some(Type::Quantity(kind)), Ok(Value::Quantity(q))) => {
            assert_eq!(*kind, q.dimension, "{text}");
        }
        (_, Err(why)) => assert!(!why.to_string().is_empty()),
        (Some(kind), Ok(value)) => {
            let fits = matches!(
                (kind, &value),
                (Type::Truth, Value::Truth(_))
                    | (Type::Words(_) | Type::Literal(_), Value::Word(_))
                    | (Type::Touches, Value::Touches(_))
            );
            assert!(fits, "{kind:?} foretold, {value:?} given: {text}");
        }
    }
    // The working that people read is the formula: read again, it comes to the same.
    let own = written(&formula.expr);
    if let Some(again) = read(&own)
        && let (Ok(first), Ok(second)) = (eval(&formula.expr, &given), eval(&again.expr, &given))
    {
        assert_eq!(first, second, "{text}, written {own}");
    }
}
