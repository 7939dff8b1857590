//! Tests of how quantities are read.

use super::{DecimalMark, Problem, quantity};
use crate::quantity::unit::Unit;

fn read(text: &str, unit: &str) -> Result<String, Problem> {
    quantity(text, &Unit::find(unit).unwrap(), DecimalMark::Point)
        .map(|t| t.quantity.canonical())
        .map_err(|e| e.problem)
}

// Source: by hand, 12.34567891 mm = 123456789.1 tenths of a nanometre; a third of an inch = 84666666.67.
#[test]
fn a_length_too_fine_is_rounded_on_request() {
    let rounded = |text: &str, unit: &str| {
        let (typed, was) =
            super::rounded(text, &Unit::find(unit).unwrap(), DecimalMark::Point).unwrap();
        (typed.quantity.canonical(), was)
    };
    assert_eq!(
        rounded("12.3456789", "mm"),
        ("12.3456789 mm".to_owned(), false)
    );
    assert_eq!(
        rounded("12.34567891", "mm"),
        ("12.3456789 mm".to_owned(), true)
    );
    assert_eq!(
        rounded("0.333333333333", "in"),
        ("8.4666667 mm".to_owned(), true)
    );
    let far = super::rounded(
        "200000000.00000000001",
        &Unit::find("mm").unwrap(),
        DecimalMark::Point,
    );
    assert!(matches!(far.unwrap_err().problem, Problem::TooFar));
}

#[test]
fn usual_ways_to_type_a_quantity_are_read() {
    for (typed, unit, expected) in [
        ("6 thou", "mm", "0.1524 mm"),
        ("-.0195", "in", "-0.4953 mm"),
        ("0.15", "mm", "0.15 mm"),
        ("0.15mm", "in", "0.15 mm"),
        ("1/2 in", "mm", "12.7 mm"),
        ("8 1/2 thou", "mm", "0.2159 mm"),
        ("1-1/2 in", "mm", "38.1 mm"),
        ("− 5", "mm", "-5 mm"),
        ("+0.31", "mm", "0.31 mm"),
        ("5.", "mm", "5 mm"),
        ("5 ft 3 in", "mm", "1600.2 mm"),
        ("-1 h 30 min", "min", "-90 min"),
        ("1200", "rpm", "1200 rpm"),
        ("1200 1/min", "rpm", "1200 rpm"),
        ("40 ipm", "mm/min", "1016 mm/min"),
        ("60 %", "%", "0.6"),
        ("3", "teeth", "3 teeth"),
        ("0.5\"", "mm", "12.7 mm"),
        ("1/3", "rpm", "1/3 rpm"),
    ] {
        assert_eq!(read(typed, unit).as_deref(), Ok(expected), "{typed}");
    }
}

#[test]
fn ambiguous_text_is_refused() {
    let kinds = [
        ("", "Empty"),
        ("abc", "NoNumber"),
        ("-", "NoNumber"),
        ("12,5", "Comma"),
        ("1.2.3", "TwoMarks"),
        ("--5", "TwoSigns"),
        ("5 -3", "TwoSigns"),
        ("1e3", "Exponent"),
        ("1/0", "OverNought"),
        ("1 2", "SecondBare"),
        ("1 in 2", "SecondBare"),
        ("1 in 2 s", "MixedKinds"),
        ("5 furlong", "UnknownUnit"),
        ("1/3 in", "TooFine"),
        ("0.00000001", "TooFine"),
        ("101 m", "TooFar"),
        ("3 rpm", "WrongKind"),
        ("NaN", "NoNumber"),
        ("inf", "NoNumber"),
    ];
    for (typed, kind) in kinds {
        let problem = read(typed, "mm").unwrap_err();
        assert!(
            format!("{problem:?}").starts_with(kind),
            "{typed}: {problem:?}"
        );
    }
    let long = "9".repeat(60);
    assert!(matches!(read(&long, "mm"), Err(Problem::TooLong)));
}

#[test]
fn a_comma_is_a_mark_only_where_declared() {
    let mm = Unit::find("mm").unwrap();
    let typed = quantity("12,5", &mm, DecimalMark::Comma).unwrap();
    assert_eq!(typed.quantity.canonical(), "12.5 mm");
    assert!(quantity("1.234,5", &mm, DecimalMark::Comma).is_err());
}

#[test]
fn a_misspelt_unit_gets_a_suggestion() {
    let problem = read("5 mn", "mm").unwrap_err();
    assert!(
        problem.to_string().contains("did you mean `mm`"),
        "{problem}"
    );
}
