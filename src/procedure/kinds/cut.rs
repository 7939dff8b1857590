//! `cut`: cycle start, and how the cut ended.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::super::read_step::time;
use super::key::{Descriptor, Form, Key, Shape};
use crate::diagnostics::Findings;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "cut",
    asks: "cycle start, and how it ended",
    forms: &[Form::new(
        "cut",
        "Cycle start",
        &[
            Key::required(
                "plane",
                Shape::Formula,
                "The height at which the tip travels",
            ),
            Key::optional("expected time", Shape::Formula, "How long it takes"),
            Key::required(
                "release for",
                Shape::Formula,
                "How long the release is valid, such as 10 min",
            ),
        ],
    )],
};

/// Reads the keys of a cut step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let plane = fields.required_formula("plane", findings);
    let expected = fields.formula("expected time", findings);
    fields.required("release for", findings);
    let release_for = time(fields, "release for", findings);
    Some(Kind::Cut {
        plane: plane?,
        expected,
        release_for: release_for?,
    })
}
