//! In what a machine's control reads programs otherwise than most, as a group of its own in the shop file. A machine
//! without it is taken as most are: lengths without a point in the unit, dwell in seconds, arc centres from the start.

use super::facts::{Fact, FactKind};
use super::fields::{Fields, scalar};
use super::formula::Value;
use super::node::Node;
use super::shop;
use crate::diagnostics::Findings;
use std::collections::BTreeMap;

/// The group's key in a machine.
pub const KEY: &str = "dialect";

/// The key of the M codes that change nothing a program is judged by.
pub const HARMLESS: &str = "harmless codes";

/// M codes that are followed as they are, and so cannot be called harmless: those of NISTIR 6556, section 3.6 (from
/// memory), and 98 and 99 (common practice, no source).
const FOLLOWED: [u16; 16] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60, 98, 99];

const fn words(key: &'static str, words: &'static [&'static str]) -> Fact {
    Fact {
        key,
        kind: FactKind::Words(words),
        optional: true,
    }
}

/// What the group may say in a word.
pub const WORDS: &[Fact] = &[
    words(
        "lengths without point",
        &["in the unit", "in increments", "forbidden"],
    ),
    words("dwell", &["in seconds", "in milliseconds"]),
    words("arc centres", &["from the start", "absolute"]),
];

/// The group of one machine.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct MachineDialect {
    words: BTreeMap<&'static str, String>,
    harmless: Vec<u16>,
}

impl MachineDialect {
    /// A word by its key.
    pub fn word(&self, key: &str) -> Option<&str> {
        self.words.get(key).map(String::as_str)
    }

    /// Numbers of the M codes that change nothing a program is judged by.
    pub fn harmless(&self) -> &[u16] {
        &self.harmless
    }
}

/// Reads the group of the machine `what`.
pub fn read(node: &Node, what: &str, findings: &mut Findings) -> Option<MachineDialect> {
    let what = format!("the dialect of {what}");
    let mut fields = Fields::of(node, &what, findings)?;
    let mut dialect = MachineDialect::default();
    for fact in WORDS {
        let node = fields.node(fact.key, findings);
        let Some(text) = node.and_then(|n| scalar(n, fact.key, findings)) else {
            continue;
        };
        match shop::value(fact.key, fact.kind, &text.text, None) {
            Ok(Value::Word(word)) => {
                dialect.words.insert(fact.key, word);
            }
            Ok(_) => {}
            Err((message, help)) => {
                findings.error(text.span, message).help(help);
            }
        }
    }
    for text in fields.texts(HARMLESS, findings) {
        match code(&text.text) {
            Ok(code) if dialect.harmless.contains(&code) => {
                findings
                    .error(text.span, format!("`{}` stands here twice", text.text))
                    .help("leave one of them out");
            }
            Ok(code) => dialect.harmless.push(code),
            Err((message, help)) => {
                findings.error(text.span, message).help(help);
            }
        }
    }
    fields.finish(&[], findings);
    Some(dialect)
}

/// The number of an M code; or what is wrong and what to write instead.
fn code(text: &str) -> Result<u16, (String, &'static str)> {
    let number = text
        .strip_prefix(['M', 'm'])
        .filter(|d| d.len() <= 3 && d.bytes().all(|b| b.is_ascii_digit()))
        .and_then(|d| d.parse::<u16>().ok());
    let Some(number) = number else {
        return Err((
            format!("`{text}` is no M code"),
            "write the letter and up to three digits, such as M62",
        ));
    };
    if FOLLOWED.contains(&number) {
        return Err((
            format!(
                "`{text}` does something that a program is judged by, so it cannot be harmless"
            ),
            "leave it out; it is followed as it is",
        ));
    }
    Ok(number)
}
