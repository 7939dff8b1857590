//! Arithmetic of NC programs: any bytes as a value, and expressions made from choices whose value is worked out a second
//! time from how they were made.

use super::pick::Picks;
use skimgate::program::expr::{NoValue, Parameters, value};

/// Deeper than this says nothing new, and stays below what the reader takes.
const DEEPEST: u32 = 5;

pub fn run(data: &[u8]) {
    let mut parameters = Parameters::default();
    parameters.set(1, Some(2.5));
    parameters.set(2, None);
    let (read, end) = value(data, 0, &parameters);
    assert!(end <= data.len());
    if let Ok(number) = read {
        assert!(number.is_finite());
    }
    let mut picks = Picks(data);
    let mut text = String::new();
    let expected = made(&mut picks, &mut text, 0);
    let (read, end) = value(text.as_bytes(), 0, &parameters);
    match expected {
        Some(expected) if expected.is_finite() => {
            let read = read.unwrap_or_else(|without| panic!("{text}: {without:?}, not {expected}"));
            let near = (read - expected).abs() <= 1e-9 * expected.abs().max(1.0);
            assert!(near, "{text}: {read}, not {expected}");
        }
        // What has no value part of the way has none at the end; which word for it is the reader's affair.
        _ => assert!(
            matches!(read, Err(NoValue::Unset | NoValue::Undefined)),
            "{text}: {read:?}"
        ),
    }
    assert_eq!(end, text.len(), "{text}");
}

/// A value in writing and what it comes to; nothing where it comes to none. Every operation stands in brackets of its own,
/// so that no rank of operations decides: ranks are tested elsewhere, against the published rules.
fn made(picks: &mut Picks, text: &mut String, depth: u32) -> Option<f64> {
    let kind = if depth >= DEEPEST { 0 } else { picks.below(12) };
    match kind {
        0..4 => {
            let number = f64::from(picks.byte()) / 4.0;
            text.push_str(&format!("{number}"));
            Some(number)
        }
        4 => {
            text.push_str("#1");
            Some(2.5)
        }
        5 => {
            text.push_str(if picks.yes() { "#2" } else { "#77" });
            None
        }
        6..10 => {
            text.push('[');
            let left = made(picks, text, depth + 1);
            let (sign, apply) = picks.of(&OPERATIONS);
            text.push_str(sign);
            let right = made(picks, text, depth + 1);
            text.push(']');
            let (left, right) = (finite(left), finite(right));
            Some(apply(left?, right?))
        }
        _ => {
            let (name, apply) = picks.of(&FUNCTIONS);
            text.push_str(name);
            text.push('[');
            let argument = made(picks, text, depth + 1);
            text.push(']');
            Some(apply(finite(argument)?))
        }
    }
}

fn finite(value: Option<f64>) -> Option<f64> {
    value.filter(|v| v.is_finite())
}

type Binary = (&'static str, fn(f64, f64) -> f64);
type Unary = (&'static str, fn(f64) -> f64);

/// NISTIR 6556, 3.3.2.2 to 3.3.3: a remainder is never below nought.
const OPERATIONS: [Binary; 7] = [
    ("+", |a, b| a + b),
    (" - ", |a, b| a - b),
    ("*", |a, b| a * b),
    ("/", |a, b| a / b),
    (" mod ", f64::rem_euclid),
    (" or ", |a, b| f64::from(u8::from(a != 0.0 || b != 0.0))),
    (" xor ", |a, b| {
        f64::from(u8::from((a != 0.0) != (b != 0.0)))
    }),
];

/// NISTIR 6556, 3.3.2.2 to 3.3.3: angles in degrees, FIX downwards, FUP upwards.
const FUNCTIONS: [Unary; 9] = [
    ("abs", f64::abs),
    ("cos", |x| x.to_radians().cos()),
    ("exp", f64::exp),
    ("fix", f64::floor),
    ("fup", f64::ceil),
    ("ln", f64::ln),
    ("round", f64::round),
    ("s i n", |x| x.to_radians().sin()),
    ("sqrt", f64::sqrt),
];
