//! How a machine's control reads programs differently from most controls, as a group in the shop file. A machine
//! without the group counts as a usual one: lengths without a point are in the unit, dwell is in seconds, arc centres
//! count from the start of the arc.

use super::facts::{Fact, FactKind};
use super::fields::{Fields, scalar};
use super::formula::Value;
use super::node::Node;
use super::shop;
use crate::diagnostics::Findings;
use std::collections::BTreeMap;

/// The group's key in a machine.
pub const KEY: &str = "dialect";

/// The key of the codes that do not affect the examination of a program.
pub const HARMLESS: &str = "harmless codes";

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
}

impl MachineDialect {
    /// The word of a key, if it is given.
    pub(crate) fn word(&self, key: &str) -> Option<&str> {
        self.words.get(key).map(String::as_str)
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
    fields.finish(&[], findings);
    Some(dialect)
}

/// Reads the letter and number of a code. An error is what is wrong, with what to write instead.
fn code(text: &str) -> Result<(char, u16), (String, &'static str)> {
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
    let (letter, number, followed) = match letter {
        Some('M') => ('M', whole, FOLLOWED.contains(&whole)),
        Some('G') => {
            let tenfold = whole * 10 + tenth;
            ('G', tenfold, follows_g(tenfold))
        }
        _ => return Err(no_code()),
    };
    if followed {
        return Err((
            format!("`{text}` affects the examination of a program, so it cannot be harmless"),
            "remove it; the examination follows it as it is",
        ));
    }
    Ok((letter, number))
}
