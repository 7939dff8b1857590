//! `wait`: a timer.

use super::super::fields::{Fields, formula};
use super::super::model::{Kind, Step};
use super::key::{DRILL, Descriptor, FIRST, Form, Key, MEND, Shape, TRUE_WHEN, practice};
use crate::diagnostics::Findings;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "wait",
    asks: "a time that must have run",
    forms: &[Form::new(
        "wait",
        "A timer",
        &[
            Key::required("for", Shape::Formula, "How long"),
            Key::optional(
                "may be shortened",
                Shape::YesNo,
                "A shorter time may be accepted with a reason",
            ),
            Key::optional(
                "in background",
                Shape::YesNo,
                "The time runs while other questions go on; sign-offs, cuts and steps that depend on this one wait for it",
            ),
            practice(&[TRUE_WHEN, MEND, FIRST, DRILL]),
        ],
    )],
};

/// Reads the keys of a wait step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let time = fields.required_text("for", findings);
    let may_be_shortened = fields.yes("may be shortened", findings);
    let in_background = fields.yes("in background", findings);
    Some(Kind::Wait {
        time: formula(time?, findings)?,
        may_be_shortened,
        in_background,
    })
}
