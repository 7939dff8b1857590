//! `work out`: a value by formula, shown with its working.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::super::read_limit::both_limits;
use super::super::read_ways::{WAYS_KEYS, ways};
use super::key::{Descriptor, EXPECT, Form, Key, MUST, Shape};
use crate::diagnostics::Findings;
use crate::quantity::Dimension;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "work out",
    asks: "nothing; shows a value and its working",
    forms: &[Form::new(
        "workOut",
        "A value by formula, shown with its working",
        &[
            Key::optional(
                "map",
                Shape::YesNo,
                "The value is a plane, and its effect on the plate is shown",
            ),
            Key::optional(
                "ways",
                Shape::Map(WAYS_KEYS),
                "Compares ways of cutting, shown with the value",
            ),
            Key::required("value", Shape::Formula, "The formula"),
            MUST,
            EXPECT,
        ],
    )],
};

/// Reads the keys of a work out step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let value = fields.required_formula("value", findings);
    let limits = both_limits(fields, findings);
    let ways = ways(fields, findings);
    let map = fields.yes("map", findings);
    Some(Kind::WorkOut {
        value: value?,
        // The name check fills this in when the formula's kind is known.
        dimension: Dimension::RATIO,
        limits,
        ways,
        map,
    })
}
