//! `program`: the NC program, fingerprinted and examined.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::super::program_facts;
use super::key::{DRILL, Descriptor, FIRST, Form, Key, Shape, practice};
use crate::diagnostics::Findings;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "program",
    asks: "the NC file, fingerprinted and examined",
    forms: &[Form::new(
        "program",
        "The NC program, fingerprinted and examined",
        &[
            Key::optional(
                "says",
                Shape::Map(program_facts::KEYS),
                "Which later steps ask what the program says; each answer is checked against what was read in it",
            ),
            practice(&[FIRST, DRILL]),
        ],
    )],
};

/// Reads the keys of a program step.
#[allow(
    clippy::unnecessary_wraps,
    reason = "every kind is read through one signature"
)]
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    Some(Kind::Program {
        says: program_facts::read(fields, findings),
    })
}
