//! `sign`: the hold point.

use super::super::fields::Fields;
use super::super::model::{Kind, SecondSigner, Step};
use super::super::node::Scalar;
use super::key::{DRILL, Descriptor, FIRST, Form, Key, MEND, Shape, TRUE_WHEN, practice};
use crate::diagnostics::{Findings, nearest};

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "sign",
    asks: "initials and a shown code: the hold point",
    forms: &[Form::new(
        "sign",
        "A hold point",
        &[
            Key::required(
                "role",
                Shape::Words(&["operator", "trainer", "owner"]),
                "The lowest role that may sign: `operator`, `trainer` (or an owner), or `owner`",
            ),
            Key::required("states", Shape::Text, "The statement that is signed"),
            Key::optional(
                "second",
                Shape::Words(&["operator", "trainer", "owner"]),
                "The lowest role of a second signer: `operator` (any other person on the list of people), `trainer` (or an owner), or `owner`",
            ),
            practice(&[TRUE_WHEN, MEND, FIRST, DRILL]),
        ],
    )],
};

/// Reads the keys of a sign step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let role = fields.required_text("role", findings);
    if let Some(text) = role {
        signer(text, findings);
    }
    let states = fields.required_text("states", findings);
    let second = fields
        .text("second", findings)
        .and_then(|text| second(text, findings));
    Some(Kind::Sign {
        role: role?.text.clone(),
        states: states?.text.clone(),
        second,
    })
}

/// Checks that the role of a hold point is a role of the list of people, so that the gate can check the signer.
fn signer(text: &Scalar, findings: &mut Findings) {
    let said = text.text.as_str();
    let words = SecondSigner::WORDS.map(|(word, _)| word);
    if words.contains(&said) {
        return;
    }
    let finding = findings.newer_error(text.span, format!("`{said}` is not a role"));
    match nearest(said, words) {
        Some(near) => finding.help(format!("did you mean `role: {near}`?")),
        None => finding.help(
            "write `operator`, `trainer` (or an owner), or `owner`: the operator of the run signs, and must have this role",
        ),
    };
}

fn second(text: &Scalar, findings: &mut Findings) -> Option<SecondSigner> {
    let said = text.text.trim();
    let found = SecondSigner::WORDS.iter().find(|(word, _)| *word == said);
    if found.is_none() {
        let words = SecondSigner::WORDS.map(|(word, _)| word);
        let finding = findings.error(text.span, format!("`{said}` cannot be a second signer"));
        match nearest(said, words) {
            Some(near) => finding.help(format!("did you mean `second: {near}`?")),
            None => finding.help(
                "write `operator` (any other person on the list of people), `trainer` (or an owner), or `owner`",
            ),
        };
    }
    found.map(|(_, beside)| *beside)
}
