//! `note`: free text.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::key::{DEMO_ANSWER, DRILL, Descriptor, FIRST, Form, STANDS_FOR, WHILE, practice};
use crate::diagnostics::Findings;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "note",
    asks: "a free text",
    forms: &[Form::new(
        "note",
        "A free text",
        &[STANDS_FOR, WHILE, practice(&[FIRST, DEMO_ANSWER, DRILL])],
    )],
};

/// Reads a note step. What its keys mean is read for every kind alike.
#[allow(
    clippy::unnecessary_wraps,
    reason = "every kind is read through one signature"
)]
pub(crate) fn read(_: &mut Fields, _: Option<&Step>, _: &mut Findings) -> Option<Kind> {
    Some(Kind::Note)
}
