//! `read`: a number with a unit.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::super::program_facts::FROM_PROGRAM;
use super::super::read_limit::both_limits;
use super::key::{
    DEMO_ANSWER, DRILL, Descriptor, EXPECT, FIRST, Form, Key, MEND, MUST, READS, STANDS_FOR, Shape,
    TRUE_WHEN, WHILE, practice,
};
use crate::diagnostics::{Findings, nearest};
use crate::quantity::Dimension;

/// The quantities that a read step may ask for, each with its dimension.
pub(crate) const READABLE: &[(&str, Dimension)] = &[
    ("length", Dimension::LENGTH),
    ("feed", Dimension::FEED),
    ("spindle speed", Dimension::SPINDLE_SPEED),
    ("time", Dimension::TIME),
    ("angle", Dimension::ANGLE),
    ("ratio", Dimension::RATIO),
    ("number", Dimension::RATIO),
    ("teeth", Dimension::TEETH),
    ("power", Dimension::POWER),
    ("chip load", Dimension::CHIP_LOAD),
];

const WORDS: &[&str] = &{
    let mut words = [""; READABLE.len()];
    let mut i = 0;
    while i < words.len() {
        words[i] = READABLE[i].0;
        i += 1;
    }
    words
};

/// The value of `measures`: what a read step may measure that the plate's account has too.
const PLATE_THICKNESS: &str = "plate thickness";

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "read",
    asks: "a number with a unit",
    forms: &[Form::new(
        "read",
        "A number with a unit",
        &[
            Key::required("quantity", Shape::Words(WORDS), "What is read"),
            Key::optional(
                "measures",
                Shape::Only(PLATE_THICKNESS),
                "The value is the plate's thickness and is compared with its account",
            ),
            MUST,
            EXPECT,
            FROM_PROGRAM,
            STANDS_FOR,
            WHILE,
            practice(&[TRUE_WHEN, READS, MEND, FIRST, DEMO_ANSWER, DRILL]),
        ],
    )],
};

/// Reads the keys of a read step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let quantity = fields.required_text("quantity", findings);
    let limits = both_limits(fields, findings);
    let measures = fields.text("measures", findings);
    let quantity = quantity?;
    if let Some(text) = measures
        && (text.text != PLATE_THICKNESS || quantity.text != "length")
    {
        findings
            .error(
                text.span,
                "only the thickness of the plate is compared with its account",
            )
            .help(format!(
                "write `measures: {PLATE_THICKNESS}` under `quantity: length`, or remove it"
            ));
    }
    let found = READABLE.iter().find(|(word, _)| *word == quantity.text);
    if found.is_none() {
        let known = READABLE.iter().map(|(w, _)| *w);
        let finding = findings.error(quantity.span, format!("`{}` cannot be read", quantity.text));
        match nearest(&quantity.text, known.clone()) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!(
                "write one of: {}",
                known.collect::<Vec<_>>().join(", ")
            )),
        };
    }
    Some(Kind::Read {
        dimension: found?.1,
        percent: quantity.text == "ratio",
        measures_plate: measures.is_some(),
        limits,
    })
}
