//! `confirm`: a challenge, and as its response the state that is seen.

use super::super::fields::Fields;
use super::super::model::{Kind, Step};
use super::super::node::Scalar;
use super::super::program_facts::FROM_PROGRAM;
use super::key::{
    DRILL, Descriptor, FIRST, Form, Key, MEND, STANDS_FOR, Shape, TRUE_WHEN, WHILE, practice,
};
use crate::diagnostics::{Findings, nearest};

const UNDOES: Key = Key::optional(
    "undoes",
    Shape::Texts,
    "Other states that invalidate the confirmations that it depends on",
);
const OUT_OF_SERVICE: Key = Key::optional(
    "out of service",
    Shape::Texts,
    "Other states that mean that the machine must not be used, until a named person puts it back in service",
);
const CRITICAL: Key = Key::optional(
    "critical",
    Shape::YesNo,
    "The order varies and the word must be exact",
);

const IN_PRACTICE: Key = practice(&[TRUE_WHEN, MEND, FIRST, DRILL]);

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "confirm",
    asks: "the state that is seen, among plausible others",
    forms: &[
        Form::new(
            "confirm",
            "Challenge and response",
            &[
                Key::required(
                    "answer",
                    Shape::Text,
                    "The response, a state that is seen; never yes, ok or checked",
                ),
                Key::required("wrong", Shape::Texts, "Plausible other states"),
                UNDOES,
                OUT_OF_SERVICE,
                CRITICAL,
                FROM_PROGRAM,
                STANDS_FOR,
                WHILE,
                IN_PRACTICE,
            ],
        ),
        Form {
            repeats: true,
            ..Form::new(
                "confirmAgain",
                "An earlier confirm step asked again",
                &[
                    Key::required(
                        "same as",
                        Shape::StepId,
                        "The id of the earlier confirm step",
                    ),
                    Key::optional("answer", Shape::Text, "The response, a state that is seen"),
                    Key::optional("wrong", Shape::Texts, "Plausible other states"),
                    UNDOES,
                    OUT_OF_SERVICE,
                    CRITICAL,
                    FROM_PROGRAM,
                    STANDS_FOR,
                    WHILE,
                    IN_PRACTICE,
                ],
            )
        },
    ],
};

/// Responses that state nothing. Source: Degani & Wiener 1993: answers are the state or value, not "checked" or "set".
const EMPTY_ANSWERS: &[&str] = &[
    "yes",
    "y",
    "ok",
    "okay",
    "checked",
    "check",
    "set",
    "done",
    "true",
    "confirmed",
    "no",
    "n",
];

/// Reads the keys of a confirm step. `repeated` is the step that it repeats.
pub(crate) fn read(
    fields: &mut Fields,
    repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let (mut answer, mut wrong, mut critical, mut undoes, mut out_of_service) =
        match repeated.map(|m| &m.kind) {
            Some(Kind::Confirm {
                answer,
                wrong,
                critical,
                undoes,
                out_of_service,
            }) => (
                Some(answer.clone()),
                wrong.clone(),
                *critical,
                undoes.clone(),
                out_of_service.clone(),
            ),
            _ => (None, Vec::new(), false, Vec::new(), Vec::new()),
        };
    if answer.is_none() || fields.has("answer") {
        let text = fields.required_text("answer", findings);
        if let Some(text) = text
            && EMPTY_ANSWERS.contains(&text.text.to_lowercase().as_str())
        {
            findings
                .error(text.span, format!("`{}` states no condition", text.text))
                .help("let the answer name the state that is seen: stopped, closed, worn, clear");
        }
        answer = text.map(|t| t.text.clone());
    }
    if repeated.is_none() || fields.has("wrong") {
        fields.required("wrong", findings);
        let texts = fields.texts("wrong", findings);
        for text in &texts {
            if Some(&text.text) == answer.as_ref() {
                findings
                    .error(text.span, "the right answer is also among the wrong ones")
                    .help("a wrong answer names another state that is possible");
            }
        }
        wrong = texts.into_iter().map(|t| t.text.clone()).collect();
    }
    if fields.has("critical") {
        critical = fields.yes("critical", findings);
    }
    if fields.has("undoes") {
        let texts = among_wrong(fields, "undoes", &wrong, findings);
        if let (Some(first), false) = (texts.first(), fields.has("rests on")) {
            findings
                .error(first.span, "`undoes` without `rests on`")
                .help(
                    "name after `rests on` the confirmations that become invalid in such a state",
                );
        }
        undoes = texts.into_iter().map(|t| t.text.clone()).collect();
    }
    if fields.has("out of service") {
        let texts = among_wrong(fields, "out of service", &wrong, findings);
        out_of_service = texts.into_iter().map(|t| t.text.clone()).collect();
    } else if fields.has("wrong") {
        out_of_service.retain(|word| wrong.contains(word));
    }
    fields.text("same as", findings);
    Some(Kind::Confirm {
        answer: answer?,
        wrong,
        critical,
        undoes,
        out_of_service,
    })
}

/// Reads the words under a key. Each must be one of the wrong answers.
fn among_wrong<'a>(
    fields: &mut Fields<'a>,
    key: &'static str,
    wrong: &[String],
    findings: &mut Findings,
) -> Vec<&'a Scalar> {
    let texts = fields.texts(key, findings);
    for text in texts.iter().filter(|t| !wrong.contains(&t.text)) {
        let finding = findings.error(
            text.span,
            format!("`{}` is not one of the wrong answers", text.text),
        );
        match nearest(&text.text, wrong.iter().map(String::as_str)) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!("they are: {}", wrong.join(", "))),
        };
    }
    texts
}
