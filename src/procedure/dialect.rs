//! How a machine's control reads programs differently from most controls, as a group in the shop file. A machine
//! without the group counts as a usual one: lengths without a point are in the unit, dwell is in seconds, arc centres
//! count from the start of the arc.

use super::facts::{Fact, FactKind};
use super::fields::{Fields, scalar};
use super::formula::Value;
use super::node::Node;
use super::shop;
use crate::diagnostics::Findings;
use crate::program::active::{self, ActiveGroup, Meaning};
use std::collections::BTreeMap;

/// The group's key in a machine.
pub const KEY: &str = "dialect";

/// The key of the codes that do not affect the examination of a program.
pub const HARMLESS: &str = "harmless codes";

/// The key of the codes that the control shows with another meaning than most controls.
pub const SHOWN: &str = "shown codes";

/// The meaning of a shown code that changes nothing.
const NOTHING: &str = "nothing";

/// M codes that the examination follows, which therefore cannot be called harmless: those of NISTIR 6556, section 3.6
/// (from memory), and 98 and 99 (common practice, no source).
const FOLLOWED: [u16; 16] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60, 98, 99];

/// Whether the examination follows a G code, given as ten times its number, so that it cannot be called harmless: those
/// of NISTIR 6556, table 4, and those that move, transform or call on other controls (from memory).
pub(crate) fn follows_g(tenfold: u16) -> bool {
    matches!(
        tenfold,
        0 | 10 | 20 | 30 | 40 | 100 | 150 | 160 | 170 | 180 | 190 | 200 | 210 | 280 | 300 | 310
            | 380..=389 | 400 | 410 | 420 | 430 | 431 | 434 | 440 | 490 | 500 | 510 | 520 | 530
            | 540 | 550 | 560 | 570 | 580 | 590..=593 | 610 | 611 | 640 | 650 | 660 | 670 | 680
            | 690 | 700 | 710 | 730 | 740 | 760 | 800 | 810 | 820 | 830 | 840 | 850 | 860 | 870
            | 880 | 890 | 900 | 901 | 910 | 911 | 920..=923 | 930 | 940 | 950 | 980 | 990
    )
}

const fn words(key: &'static str, words: &'static [&'static str]) -> Fact {
    Fact {
        key,
        kind: FactKind::Words(words),
        optional: true,
        default: None,
    }
}

/// The facts of the group that are words.
pub const WORDS: &[Fact] = &[
    words(
        "lengths without point",
        &["in the unit", "in increments", "forbidden"],
    ),
    words("dwell", &["in seconds", "in milliseconds"]),
    words("arc centres", &["from the start", "absolute"]),
];

/// The dialect of one machine's control.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct MachineDialect {
    words: BTreeMap<&'static str, String>,
    /// Letter and number of each code; for a G code ten times its number.
    harmless: Vec<(char, u16)>,
    shown: Vec<Meaning>,
}

impl MachineDialect {
    /// The word of a key, if it is given.
    pub(crate) fn word(&self, key: &str) -> Option<&str> {
        self.words.get(key).map(String::as_str)
    }

    /// The codes that its control shows and that mean something else than on most controls; harmless ones mean nothing.
    pub fn meanings(&self) -> Vec<Meaning> {
        let tenfold = |(letter, number): &(char, u16)| match letter {
            'G' => (*letter, *number),
            _ => (*letter, number.saturating_mul(10)),
        };
        let harmless = self.harmless.iter().map(|code| (tenfold(code), None));
        self.shown.iter().cloned().chain(harmless).collect()
    }

    /// The harmless codes of a letter: the numbers of M codes, and ten times the numbers of G codes.
    pub(crate) fn harmless(&self, letter: char) -> Vec<u16> {
        let of = self.harmless.iter().filter(|(l, _)| *l == letter);
        of.map(|(_, number)| *number).collect()
    }
}

/// Reads the group of the machine `what`.
pub(crate) fn read(node: &Node, what: &str, findings: &mut Findings) -> Option<MachineDialect> {
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
                    .error(text.span, format!("`{}` is here twice", text.text))
                    .help("leave one of them out");
            }
            Ok(code) => dialect.harmless.push(code),
            Err((message, help)) => {
                findings.error(text.span, message).help(help);
            }
        }
    }
    if let Some(node) = fields.node(SHOWN, findings) {
        dialect.shown = shown(node, findings);
    }
    fields.finish(&[], findings);
    Some(dialect)
}

/// Reads the codes that a control shows with another meaning, each with the code of most controls that it means.
fn shown(node: &Node, findings: &mut Findings) -> Vec<Meaning> {
    let Some(fields) = Fields::of(node, SHOWN, findings) else {
        return Vec::new();
    };
    let mut found: Vec<Meaning> = Vec::new();
    for (key, node) in fields.pairs() {
        let Some(text) = scalar(node, &key.text, findings) else {
            continue;
        };
        let Ok((letter, number)) = letter_and_number(&key.text) else {
            findings
                .error(key.span, format!("`{}` is not an M or G code", key.text))
                .help("write the code as the control shows it, such as `G505: G55`");
            continue;
        };
        let tenfold = if letter == 'G' {
            number
        } else {
            number.saturating_mul(10)
        };
        if text.text == NOTHING {
            found.push(((letter, tenfold), None));
            continue;
        }
        match meaning(&text.text) {
            Some(meaning) => found.push(((letter, tenfold), Some(meaning))),
            None => {
                findings
                    .error(
                        text.span,
                        format!("`{}` is not one code that most controls show", text.text),
                    )
                    .help("write one code such as G54, G21 or G54.1 P5, or `nothing`");
            }
        }
    }
    found
}

fn meaning(text: &str) -> Option<(ActiveGroup, String)> {
    let read = active::read(text, &[]).ok()?;
    let mut groups = read.groups.into_iter();
    match (groups.next(), groups.next(), read.unknown.is_empty()) {
        (Some(one), None, true) => Some(one),
        _ => None,
    }
}

/// Reads the letter and number of a code. An error is what is wrong, with what to write instead.
fn code(text: &str) -> Result<(char, u16), (String, &'static str)> {
    let (letter, number) = letter_and_number(text)?;
    let followed = match letter {
        'M' => FOLLOWED.contains(&number),
        _ => follows_g(number),
    };
    if followed {
        return Err((
            format!("`{text}` affects the examination of a program, so it cannot be harmless"),
            "remove it; the examination follows it as it is",
        ));
    }
    Ok((letter, number))
}

/// The letter and number of a code: the number of an M code, and ten times the number of a G code.
fn letter_and_number(text: &str) -> Result<(char, u16), (String, &'static str)> {
    let no_code = || {
        (
            format!("`{text}` is not an M or G code"),
            "write the letter and up to three digits, such as M62 or G187",
        )
    };
    let letter = text.chars().next().map(|c| c.to_ascii_uppercase());
    let digits = text.get(1..).unwrap_or_default();
    let (whole, tenth) = match digits.split_once('.') {
        Some((whole, tenth)) if letter == Some('G') && tenth.len() == 1 => (whole, tenth),
        Some(_) => return Err(no_code()),
        None => (digits, "0"),
    };
    let number = |d: &str| {
        let plain = !d.is_empty() && d.len() <= 3 && d.bytes().all(|b| b.is_ascii_digit());
        plain.then(|| d.parse::<u16>().ok()).flatten()
    };
    let (Some(whole), Some(tenth)) = (number(whole), number(tenth)) else {
        return Err(no_code());
    };
    match letter {
        Some('M') => Ok(('M', whole)),
        Some('G') => Ok(('G', whole * 10 + tenth)),
        _ => Err(no_code()),
    }
}
