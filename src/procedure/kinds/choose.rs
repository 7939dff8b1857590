//! `choose`: one of several words, or one item from a list in the shop file.

use super::super::fields::Fields;
use super::super::model::{Kind, Options, ShopList, Step};
use super::super::node::Node;
use super::super::program_facts::FROM_PROGRAM;
use super::super::read_limit::limits;
use super::key::{
    DEMO_ANSWER, DRILL, Descriptor, FIRST, Form, Key, MEND, READS, STANDS_FOR, Shape, TRUE_WHEN,
    WHILE, practice,
};
use crate::diagnostics::{Findings, nearest};

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "choose",
    asks: "one of several",
    forms: &[
        Form::new(
            "chooseListed",
            "One of several words",
            &[
                Key::required("options", Shape::Options, "Words with what each means"),
                Key::optional(
                    "must",
                    Shape::Limits,
                    "`exactly`: the only word that passes",
                ),
                FROM_PROGRAM,
                STANDS_FOR,
                WHILE,
                practice(&[TRUE_WHEN, READS, MEND, FIRST, DEMO_ANSWER, DRILL]),
            ],
        ),
        Form::new(
            "chooseFrom",
            "One item of the shop file",
            &[
                Key::required(
                    "from",
                    Shape::Words(&["machines", "plates", "cutters"]),
                    "Which list",
                ),
                practice(&[FIRST, DRILL]),
            ],
        ),
    ],
};

/// Reads the keys of a choose step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    let from = fields.text("from", findings);
    let listed = fields.node("options", findings);
    let must = limits(fields, "must", findings);
    let options = match (from, listed) {
        (Some(from), None) => {
            let list = ShopList::ALL.into_iter().find(|l| l.key() == from.text);
            if list.is_none() {
                let finding = findings.error(
                    from.span,
                    format!("`{}` is not a list of the shop file", from.text),
                );
                match nearest(&from.text, ShopList::ALL.map(ShopList::key)) {
                    Some(near) => finding.help(format!("did you mean `{near}`?")),
                    None => {
                        finding.help("write `from: machines`, `from: plates` or `from: cutters`")
                    }
                };
            }
            Options::From(list?)
        }
        (None, Some(node)) => Options::Listed(words(node, findings)?),
        (Some(from), Some(_)) => {
            findings
                .error(from.span, "`from` and `options` exclude each other")
                .help("keep the right one");
            return None;
        }
        (None, None) => {
            findings
                .error(fields.span, "a choose step without `options` or `from`")
                .help("write `options:` with a word and its meaning each, or `from: cutters`");
            return None;
        }
    };
    Some(Kind::Choose { options, must })
}

fn words(node: &Node, findings: &mut Findings) -> Option<Vec<(String, String)>> {
    let fields = Fields::of(node, "`options`", findings)?;
    if fields.pairs().len() < 2 {
        findings
            .error(node.span(), "a choice has at least two options")
            .help("write `word: what it means` for each");
    }
    Some(
        fields
            .pairs()
            .iter()
            .map(|(key, node)| {
                let meaning = if let Node::Scalar(text) = node {
                    text.text.clone()
                } else {
                    findings
                        .error(
                            key.span,
                            format!("`{}` needs its meaning after it", key.text),
                        )
                        .help(format!("write `{}: what it means`", key.text));
                    String::new()
                };
                (key.text.clone(), meaning)
            })
            .collect(),
    )
}
