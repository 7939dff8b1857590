//! Reads a line of active codes as a control shows it, in any order, spacing and case.
//!
//! The lexer of programs reads the words, so a line is read as a block of a program would be. A control's line differs
//! from a block in two ways: it may have separators between the codes, and each group may show several words of other
//! groups. No word is lost: what is not known is given back as it was typed.

use super::groups::{ActiveGroup, MOST_P};
use crate::program::block::{Block, Word};
use crate::program::expr::Parameters;
use crate::program::fault::FaultKind;
use crate::program::lex;
use crate::program::number::{Number, Value};
use std::collections::BTreeMap;

/// A code of this control, as letter and ten times its number, and the group and value that it means; `None` for a code
/// that changes nothing that matters here.
pub type Meaning = ((char, u16), Option<(ActiveGroup, String)>);

/// The groups of a line, each with its value.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct ActiveCodes {
    /// The value of each group: a code such as `G54`, the words `mm` and `inch`, or a number.
    pub groups: BTreeMap<ActiveGroup, String>,
    /// Words that are not known, as they were typed.
    pub unknown: Vec<String>,
}

/// Why a line cannot be read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum LineFault {
    /// No code is in it.
    NoCode,
    /// Some of its text is no code.
    Text {
        /// The kind of fault.
        kind: FaultKind,
        /// The text at fault.
        text: String,
    },
    /// A number that cannot be that of its letter.
    Number(String),
    /// G54.1 without the number of the offset.
    WithoutP,
    /// Two codes of one group, of which only one can be active.
    TwoOfGroup {
        /// The group.
        group: ActiveGroup,
        /// The code that was typed first.
        first: String,
        /// The other one.
        second: String,
    },
}

impl LineFault {
    /// What is wrong, and what to type instead.
    pub fn words(&self) -> String {
        match self {
            Self::NoCode => {
                "no code is in this; type the codes that the control shows as active, such as G90"
                    .to_owned()
            }
            Self::Text { kind, text } => {
                let what = match kind {
                    FaultKind::LetterO => "has the letter O where the digit 0 belongs",
                    FaultKind::DecimalComma => "has a comma where the point belongs",
                    FaultKind::NoNumber => "has no number",
                    FaultKind::OpenComment
                    | FaultKind::CommentClosedEarly
                    | FaultKind::NestedComment => "is in brackets, so it is not read as codes",
                    FaultKind::StrayByte => "is a character that no code has",
                    FaultKind::FlowControl
                    | FaultKind::BadExpression
                    | FaultKind::UnsetParameter => "is no code that a control shows as active",
                    _ => "cannot be read as codes",
                };
                format!("`{text}` {what}; type the line again as the control shows it")
            }
            Self::Number(text) => {
                format!("`{text}` cannot be right: the number is whole and not below zero")
            }
            Self::WithoutP => {
                "`G54.1` needs the P of its offset next to it, such as G54.1 P3".to_owned()
            }
            Self::TwoOfGroup {
                group,
                first,
                second,
            } => format!(
                "`{first}` and `{second}` are both of one group ({}), and only one of them can be active; read the line again",
                group.word()
            ),
        }
    }
}

/// Signs between codes, in lines that are copied from a screen.
const SEPARATORS: &[u8] = b"|;/\\\t*_\"'";

/// Reads a line. `meanings` are the codes to which this control gives another meaning.
pub fn read(line: &str, meanings: &[Meaning]) -> Result<ActiveCodes, LineFault> {
    let text = without_separators(line);
    let bytes = text.as_bytes();
    let mut block = Block::default();
    lex::line(bytes, &Parameters::default(), &mut block);
    let part = |start: u32, end: u32| {
        let part = bytes.get(start as usize..end as usize).unwrap_or_default();
        String::from_utf8_lossy(part).trim().to_owned()
    };
    // A fault may be one letter, which says little without the text around it.
    let around = |start: u32, end: u32| {
        let blank = |b: &u8| *b == b' ';
        let before = bytes.get(..start as usize).unwrap_or_default();
        let after = bytes.get(end as usize..).unwrap_or_default();
        let left = before.iter().rev().take_while(|b| !blank(b)).count();
        let right = after.iter().take_while(|b| !blank(b)).count();
        let part = bytes.get(before.len() - left..end as usize + right);
        String::from_utf8_lossy(part.unwrap_or_default())
            .trim()
            .to_owned()
    };
    // A number that is too long for a program's line number or a long line is no fault here: nothing of it is lost.
    let small = |kind| {
        matches!(
            kind,
            FaultKind::LongLine | FaultKind::LongNumber | FaultKind::BadNumber
        )
    };
    if let Some(fault) = block.faults.iter().find(|f| !small(f.kind)) {
        return Err(LineFault::Text {
            kind: fault.kind,
            text: around(fault.span.start, fault.span.end),
        });
    }
    if let Some((start, end)) = block.comment {
        return Err(LineFault::Text {
            kind: FaultKind::NestedComment,
            text: part(start, end),
        });
    }
    let mut found = Found::default();
    found.unknown.extend(block.label.map(|n| format!("O{n}")));
    found.unknown.extend(block.number.map(|n| format!("N{n}")));
    let mut words = block.words.iter().peekable();
    while let Some(word) = words.next() {
        let typed = part(word.start, word.end).to_ascii_uppercase();
        let Value::Exact(number) = word.value else {
            return Err(LineFault::Text {
                kind: FaultKind::BadExpression,
                text: typed,
            });
        };
        let letter = char::from(word.letter);
        if matches!(letter, 'G' | 'M') {
            let p = words.peek().filter(|w| w.letter == b'P').copied();
            if found.code(letter, number, p, &typed, meanings)? {
                words.next();
            }
        } else if let Some(group) = ActiveGroup::of_letter(letter) {
            let whole = !matches!(letter, 'F' | 'S');
            let value = amount(number, whole).ok_or_else(|| LineFault::Number(typed.clone()))?;
            found.set(group, value, typed)?;
        } else {
            found.unknown.push(typed);
        }
    }
    if found.groups.is_empty() && found.unknown.is_empty() {
        return Err(LineFault::NoCode);
    }
    Ok(ActiveCodes {
        groups: found.groups.into_iter().map(|(g, (v, _))| (g, v)).collect(),
        unknown: found.unknown,
    })
}

/// The groups so far, each with its value and the code as typed.
#[derive(Default)]
struct Found {
    groups: BTreeMap<ActiveGroup, (String, String)>,
    unknown: Vec<String>,
}

impl Found {
    /// Adds a G or M code; whether it took the P word after it.
    fn code(
        &mut self,
        letter: char,
        number: Number,
        p: Option<&Word>,
        typed: &str,
        meanings: &[Meaning],
    ) -> Result<bool, LineFault> {
        let Some(tenfold) = number.tenfold() else {
            self.unknown.push(typed.to_owned());
            return Ok(false);
        };
        let meant = meanings.iter().find(|(code, _)| *code == (letter, tenfold));
        match meant {
            Some((_, Some((group, value)))) => {
                self.set(*group, value.clone(), typed.to_owned())?;
                return Ok(false);
            }
            Some((_, None)) => return Ok(false),
            None => {}
        }
        let Some((group, value)) = ActiveGroup::of_code(letter, tenfold) else {
            self.unknown.push(typed.to_owned());
            return Ok(false);
        };
        if value != "G54.1" {
            self.set(group, value.to_owned(), typed.to_owned())?;
            return Ok(false);
        }
        let p = p.ok_or(LineFault::WithoutP)?.value.whole();
        let p = p.filter(|p| (1..=MOST_P).contains(p));
        let p = p.ok_or(LineFault::WithoutP)?;
        let value = format!("G54.1 P{p}");
        self.set(group, value.clone(), value)?;
        Ok(true)
    }

    fn set(&mut self, group: ActiveGroup, value: String, typed: String) -> Result<(), LineFault> {
        match self.groups.get(&group) {
            Some((other, first)) if *other != value => Err(LineFault::TwoOfGroup {
                group,
                first: first.clone(),
                second: typed,
            }),
            _ => {
                self.groups.insert(group, (value, typed));
                Ok(())
            }
        }
    }
}

/// The line with a blank for each separator. A comma between two digits stays, since it may be meant as a point.
fn without_separators(line: &str) -> String {
    let chars: Vec<char> = line.chars().collect();
    let digit = |at: Option<&char>| at.is_some_and(char::is_ascii_digit);
    chars
        .iter()
        .enumerate()
        .map(|(at, c)| match *c {
            ',' if digit(chars.get(at + 1))
                && at.checked_sub(1).is_some_and(|b| digit(chars.get(b))) =>
            {
                ','
            }
            ',' => ' ',
            c if c.is_ascii() && u8::try_from(c).is_ok_and(|b| SEPARATORS.contains(&b)) => ' ',
            // Lines, dots and blanks of a screen's drawing.
            c if !c.is_ascii() && !c.is_alphanumeric() => ' ',
            c => c,
        })
        .collect()
}

/// A number without leading and trailing zeros; `None` where it is below zero, or not whole where it must be.
fn amount(number: Number, whole: bool) -> Option<String> {
    if number.mantissa < 0 {
        return None;
    }
    let scale = usize::from(number.scale);
    let digits = format!("{:0width$}", number.mantissa, width = scale + 1);
    let (units, rest) = digits.split_at(digits.len() - scale);
    let rest = rest.trim_end_matches('0');
    match rest {
        "" => Some(units.to_owned()),
        _ if whole => None,
        rest => Some(format!("{units}.{rest}")),
    }
}
