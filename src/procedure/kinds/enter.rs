//! `enter`: a value for the control, and its read-back.

use super::super::fields::Fields;
use super::super::model::{Enter, Kind, Step};
use super::super::read_limit::both_limits;
use super::key::{Descriptor, EXPECT, Form, Key, MUST, Shape};
use crate::diagnostics::Findings;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "enter",
    asks: "a value to type into the control, and its read-back",
    forms: &[Form::new(
        "enter",
        "A value for the control, and its read-back",
        &[
            Key::required("value", Shape::Formula, "The value"),
            Key::required("into", Shape::Text, "The field of the control, in words"),
            Key::optional(
                "sets zero at",
                Shape::Formula,
                "The height at which the readout then reads 0",
            ),
            Key::optional(
                "tolerance",
                Shape::Formula,
                "How far the read-back may differ",
            ),
            MUST,
            EXPECT,
        ],
    )],
};

/// Reads the keys of an enter step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let value = fields.required_formula("value", findings);
    let into = fields.required_text("into", findings);
    let sets_zero_at = fields.formula("sets zero at", findings);
    let tolerance = fields.formula("tolerance", findings);
    let limits = both_limits(fields, findings);
    Some(Kind::Enter(Box::new(Enter {
        value: value?,
        into: into?.text.clone(),
        sets_zero_at,
        tolerance,
        limits,
    })))
}
