//! `codes`: the line of active codes as the control shows it.

use super::super::fields::{Fields, formula, scalar};
use super::super::formula::Formula;
use super::super::formula::ast::{Expr, ExprKind};
use super::super::model::{Codes, CodesLimit, Kind, Step};
use super::super::node::{Node, Scalar};
use super::key::{DRILL, Descriptor, FIRST, Form, Key, MEND, Shape, practice};
use crate::diagnostics::{Findings, nearest};
use crate::program::active::ActiveGroup;

/// The keys of `must` and `expect`: one for each group, and why.
const LIMIT_KEYS: &[Key] = &{
    let because = Key::optional("because", Shape::Text, "Why it must be so");
    let mut keys = [because; ActiveGroup::ALL.len() + 1];
    let mut i = 0;
    while i < ActiveGroup::ALL.len() {
        let row = ActiveGroup::ALL[i].row();
        keys[i] = Key::optional(row.word, Shape::Formula, row.about);
        i += 1;
    }
    keys
};

const MUST_SHOW: &str = "must show";
const MUST: Key = Key::optional(
    "must",
    Shape::Map(LIMIT_KEYS),
    "Values that nobody can waive, by group",
);
const EXPECT: Key = Key::optional(
    "expect",
    Shape::Map(LIMIT_KEYS),
    "Values from which a named person may accept a deviation with a reason",
);
const BLIND: Key = Key::optional(
    "blind",
    Shape::YesNo,
    "What is expected is not shown, neither before nor in a refusal",
);
const IN_PRACTICE: Key = practice(&[MEND, FIRST, DRILL]);

/// The descriptor of the kind.
pub(super) const DESCRIPTOR: Descriptor = Descriptor {
    word: "codes",
    asks: "the active codes as the control shows them, in one line",
    forms: &[
        Form::new(
            "codes",
            "The active codes of the control; compared with the program where one was given",
            &[
                Key::required(
                    MUST_SHOW,
                    Shape::SomeOf(ActiveGroup::WORDS),
                    "The groups that must be known; one that the control does not show is asked for alone",
                ),
                MUST,
                EXPECT,
                BLIND,
                IN_PRACTICE,
            ],
        ),
        Form {
            repeats: true,
            ..Form::new(
                "codesAgain",
                "The active codes read again; what changed since the earlier step is reported",
                &[
                    Key::required("same as", Shape::StepId, "The id of the earlier codes step"),
                    Key::optional(
                        MUST_SHOW,
                        Shape::SomeOf(ActiveGroup::WORDS),
                        "The groups that must be known",
                    ),
                    MUST,
                    EXPECT,
                    BLIND,
                    IN_PRACTICE,
                ],
            )
        },
    ],
};

/// Reads the keys of a codes step. `repeated` is the step that it repeats.
pub(super) fn read(
    fields: &mut Fields,
    repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let mut codes = match repeated.map(|step| (&step.id, &step.kind)) {
        Some((id, Kind::Codes(codes))) => Codes {
            same_as: Some(id.clone()),
            ..codes.as_ref().clone()
        },
        _ => Codes::default(),
    };
    fields.text("same as", findings);
    if repeated.is_none() || fields.has(MUST_SHOW) {
        fields.required(MUST_SHOW, findings);
        codes.must_show = groups(fields, findings);
    }
    for (key, limit) in [("must", &mut codes.must), ("expect", &mut codes.expect)] {
        if let Some(node) = fields.node(key, findings) {
            *limit = read_limit(node, key, &codes.must_show, findings)?;
        }
    }
    if fields.has("blind") {
        codes.blind = fields.yes("blind", findings);
    }
    Some(Kind::Codes(Box::new(codes)))
}

fn groups(fields: &mut Fields, findings: &mut Findings) -> Vec<ActiveGroup> {
    let mut found = Vec::new();
    for text in fields.texts(MUST_SHOW, findings) {
        match ActiveGroup::find(&text.text) {
            Some(group) if found.contains(&group) => {
                findings
                    .error(text.span, format!("`{}` is here twice", text.text))
                    .help("leave one of them out");
            }
            Some(group) => found.push(group),
            None => unknown(text, findings),
        }
    }
    found
}

fn unknown(text: &Scalar, findings: &mut Findings) {
    let finding = findings.error(
        text.span,
        format!("`{}` is not a group of codes", text.text),
    );
    match nearest(&text.text, ActiveGroup::WORDS.iter().copied()) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding.help(format!("the groups are: {}", ActiveGroup::WORDS.join(", "))),
    };
}

fn read_limit(
    node: &Node,
    key: &str,
    must_show: &[ActiveGroup],
    findings: &mut Findings,
) -> Option<CodesLimit> {
    let what = format!("`{key}` of a codes step");
    let mut fields = Fields::of(node, &what, findings)?;
    let mut limit = CodesLimit::default();
    for group in ActiveGroup::ALL {
        let Some((word, node)) = fields.pair(group.word(), findings) else {
            continue;
        };
        if !Codes::knows(must_show, *group) {
            findings
                .error(
                    word.span,
                    format!("`{}` is limited, but need not be known", word.text),
                )
                .help(format!("add `{}` to `{MUST_SHOW}`", word.text));
        }
        let wanted = scalar(node, &word.text, findings).and_then(|t| wanted(*group, t, findings));
        limit.wanted.extend(wanted.map(|wanted| (*group, wanted)));
    }
    limit.because = fields.text("because", findings).map(|t| t.text.clone());
    if fields.pairs().iter().all(|(key, _)| key.text == "because") {
        findings
            .error(fields.span, format!("`{key}` limits no group"))
            .help("write for instance `distance: G90`, or remove the key");
    }
    fields.finish(&[], findings);
    Some(limit)
}

/// Whether a text is written as a code is: a letter and a number.
fn is_code(text: &str) -> bool {
    let mut letters = text.chars();
    letters
        .next()
        .is_some_and(|c| matches!(c, 'G' | 'g' | 'M' | 'm'))
        && letters.as_str().starts_with(|c: char| c.is_ascii_digit())
}

/// A value of the group as it is written, or a formula that gives one.
fn wanted(group: ActiveGroup, text: &Scalar, findings: &mut Findings) -> Option<Formula> {
    let same = |value: &String| value.eq_ignore_ascii_case(&text.text);
    let values = group.values();
    match values.iter().find(|v| same(v)).cloned() {
        None if is_code(&text.text) && !values.is_empty() => {
            let first: Vec<&str> = values.iter().take(12).map(String::as_str).collect();
            findings
                .error(
                    text.span,
                    format!("`{}` is not a value of `{}`", text.text, group.word()),
                )
                .help(format!("its values are: {}", first.join(", ")));
            None
        }
        Some(value) => Some(Formula {
            text: text.text.clone(),
            span: text.span,
            expr: Expr {
                kind: ExprKind::Word(value),
                span: text.span,
            },
        }),
        None => formula(text, findings),
    }
}
