//! `inspect`: what is clean and what is not after a cut.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::key::{Descriptor, Form};
use crate::diagnostics::Findings;

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "inspect",
    asks: "clean, or skin left",
    forms: &[Form::new(
        "inspect",
        "What is clean and what is not; `clean` ends the pass",
        &[],
    )],
};

/// Reads an inspect step, which has no keys of its own.
#[allow(
    clippy::unnecessary_wraps,
    reason = "every kind is read through one signature"
)]
pub(crate) fn read(_: &mut Fields, _: Option<&Step>, _: &mut Findings) -> Option<Kind> {
    Some(Kind::Inspect)
}
