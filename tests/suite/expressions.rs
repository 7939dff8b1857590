//! Compares the arithmetic of NC programs with another evaluator, the crate ngc, on generated expressions. That crate
//! takes angles in radians and allows a negative remainder, where NISTIR 6556 (3.3.2.2, 3.3.3) has degrees and no
//! negative remainder; so the published test in `program.rs` covers angles, and remainders here are of positive
//! numbers.

use ngc::eval::{Axis, Evaluator, Param};
use proptest::prelude::*;
use proptest::sample::select;
use skimgate::program::expr::{Parameters, value};

/// The value by the other evaluator; `None` where it finds no value.
fn theirs(text: &str) -> Option<f64> {
    let program = ngc::parse::parse("generated", &format!("#1={text}\nM2\n")).ok()?;
    let vars = [(Param::Num(7), 2.5)].into_iter().collect();
    let mut evaluator = Evaluator::new(program, vec![Axis::X, Axis::Y, Axis::Z], Some(vars));
    evaluator.eval(false, |_, _| Ok(())).ok()?;
    evaluator.get_var(Param::Num(1)).filter(|v| v.is_finite())
}

fn ours(text: &str) -> Option<f64> {
    let mut parameters = Parameters::default();
    parameters.set(7, Some(2.5));
    let (value, end) = value(text.as_bytes(), 0, &parameters);
    assert!(value.is_err() || end == text.len(), "{text} read to {end}");
    value.ok()
}

fn numbers() -> impl Strategy<Value = String> {
    prop_oneof![
        (0_u32..200, 0_usize..4).prop_map(|(n, places)| {
            let text = format!("{:.places$}", f64::from(n) / 8.0);
            if places == 0 {
                format!("{text}.")
            } else {
                text
            }
        }),
        Just("#7".to_owned()),
    ]
}

/// Sequences of operations of all ranks without brackets, so that the ranks decide. Logical operators are separate,
/// because the other evaluator gives them a rank below sums.
fn expressions() -> impl Strategy<Value = String> {
    numbers().prop_recursive(4, 40, 5, |inner| {
        let row = (
            inner.clone(),
            prop::collection::vec((select(vec!["+", "-", "*", "/", " - ", " + "]), inner.clone()), 1..5),
        );
        let joined = (inner.clone(), select(vec!["and", "or", "xor"]), inner.clone());
        let function = (
            select(vec!["abs", "exp", "fix", "fup", "ln", "round", "sqrt"]),
            inner.clone(),
        );
        prop_oneof![
            3 => row.prop_map(|(first, rest)| {
                let rest: String = rest.into_iter().flat_map(|(sign, v)| [sign.to_owned(), v]).collect();
                format!("[{first}{rest}]")
            }),
            1 => (inner.clone(), numbers()).prop_map(|(a, b)| format!("[3+abs[{a}]**{b}*2]")),
            1 => (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("[abs[{a}] mod [1+abs[{b}]]]")),
            1 => joined.prop_map(|(a, word, b)| format!("[{a} {word} {b}]")),
            1 => function.prop_map(|(name, a)| format!("{name}[{a}]")),
        ]
    })
}

proptest! {
    #[test]
    fn generated_expressions_give_the_same_value(text in expressions()) {
        let (ours, theirs) = (ours(&text), theirs(&text));
        match (ours, theirs) {
            (Some(a), Some(b)) => prop_assert!((a - b).abs() <= 1e-9 * a.abs().max(1.0), "{text}: {a}, {b}"),
            // An expression that overflows or divides by zero on the way is no error of ours, even where the result is
            // finite.
            (None, _) => {}
            (Some(a), None) => prop_assert!(false, "{text}: {a}, and none there"),
        }
    }
}

/// The property above would also hold for a reader that never finds a value.
#[test]
fn most_generated_expressions_have_a_value() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let texts: Vec<String> = (0..300)
        .map(|_| expressions().new_tree(&mut runner).unwrap().current())
        .collect();
    let with = texts
        .iter()
        .filter(|t| ours(t).is_some() && theirs(t).is_some());
    assert!(with.count() > 200, "{texts:?}");
}
