//! What is stored of a text that was typed and not taken: what it was taken for, so that a PIN typed at the wrong prompt
//! does not stand in the record.

use crate::interlock::answering::initials;
use crate::interlock::stopping::{Cause, CutEnd, MachineContinuity};
use crate::interlock::{Instance, State};
use crate::procedure::Options;
use crate::procedure::model::{CLEAN, Kind, SKIN_LEFT};
use crate::quantity::Unit;
use crate::walk::prompts::commands::COMMANDS;
use crate::walk::session::keys::UNRECORDED;

/// Words that a walk asks for beside those of a step.
const OTHER_WORDS: [&str; 18] = [
    CLEAN, SKIN_LEFT, "keep", "done", "started", "start", "fix", "again", "extra", "at", "near",
    "unknown", "correct", "no", "yes", "z", "zeroed", "left",
];

/// Most digits of a number where none is asked for: the number of an option.
const OPTION_DIGITS: usize = 2;

/// Text and reason as they are stored. `lists_people`: whether there are PINs at all, and initials are known ones.
pub(crate) fn stored(
    state: &State,
    at: &Instance,
    typed: &str,
    why: &str,
    lists_people: bool,
) -> (String, String) {
    if typed == UNRECORDED || is_known(state, at, typed, lists_people) {
        return (typed.to_owned(), why.to_owned());
    }
    let count = typed.chars().count();
    let signs = if count == 1 {
        "character"
    } else {
        "characters"
    };
    let lower = why.to_lowercase();
    let quoted = typed
        .split_whitespace()
        .any(|part| lower.contains(&part.to_lowercase()));
    let why = if quoted {
        "that is none of the answers to this question".to_owned()
    } else {
        why.to_owned()
    };
    (format!("({count} {signs}, not recorded)"), why)
}

fn is_known(state: &State, at: &Instance, typed: &str, lists_people: bool) -> bool {
    let Some(step) = state.step(at) else {
        return false;
    };
    let mut known: Vec<String> = OTHER_WORDS
        .iter()
        .copied()
        .chain(COMMANDS.iter().map(|(_, word, ..)| *word))
        .chain(CutEnd::ALL.iter().map(|end| end.word()))
        .chain(Cause::CHOICES.iter().map(|cause| cause.word()))
        .chain(MachineContinuity::ALL.iter().map(|kept| kept.word()))
        .map(str::to_owned)
        .collect();
    let mut numbers = false;
    match &step.kind {
        Kind::Confirm { answer, wrong, .. } => {
            known.push(answer.clone());
            known.extend(wrong.iter().cloned());
        }
        Kind::Choose {
            options: Options::Listed(listed),
            ..
        } => known.extend(
            listed
                .iter()
                .flat_map(|(word, meaning)| [word.clone(), meaning.clone()]),
        ),
        Kind::Choose {
            options: Options::From(list),
            ..
        } => known.extend(state.shop.items(*list).iter().map(|item| item.id.clone())),
        Kind::Read { .. } | Kind::WorkOut { .. } | Kind::Enter(_) | Kind::Wait { .. } => {
            numbers = true;
        }
        Kind::Touch(touch) => {
            numbers = true;
            known.extend(touch.points.iter().cloned());
        }
        Kind::Inspect => {
            for step in state.procedure.steps() {
                if let Kind::Touch(touch) = &step.kind {
                    known.extend(touch.points.iter().cloned());
                }
            }
        }
        Kind::Sign { .. } => {
            // With a list of people, whoever asks has looked whether these are somebody's initials.
            return if lists_people {
                initials(typed).is_some_and(|who| who.chars().all(char::is_alphabetic))
            } else {
                initials(typed).is_some()
            };
        }
        // A line of codes is a letter and a number again and again, which no PIN is.
        Kind::Codes(_) => return is_codes(typed),
        Kind::Note | Kind::Program { .. } | Kind::Cut { .. } => {}
    }
    let same = |word: &str| known.iter().any(|k| k.eq_ignore_ascii_case(word));
    let of_words = |part: &str| {
        known
            .iter()
            .any(|k| k.split_whitespace().any(|w| w.eq_ignore_ascii_case(part)))
    };
    same(typed)
        || typed.split_whitespace().all(|part| {
            of_words(part) || is_number(part, numbers) || (numbers && Unit::find(part).is_some())
        })
}

/// Whether it is written as codes: each part begins with a letter and has a digit, and no part is longer than codes are.
fn is_codes(typed: &str) -> bool {
    let word = |part: &str| {
        let letters = part.chars().filter(char::is_ascii_alphabetic).count();
        let digits = part.chars().filter(char::is_ascii_digit).count();
        part.starts_with(|c: char| c.is_ascii_alphabetic()) && (1..=6 * letters).contains(&digits)
    };
    let mut parts = typed
        .split(|c: char| !c.is_ascii_alphanumeric() && c != '.')
        .filter(|p| !p.is_empty());
    typed.eq_ignore_ascii_case("none") || parts.all(word)
}

/// Whether it is written as a number, with its unit where it has one; where none is asked for, as that of an option.
fn is_number(part: &str, asked: bool) -> bool {
    let end = part
        .find(|c: char| {
            !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | '/' | '\u{2212}'))
        })
        .unwrap_or(part.len());
    let (number, unit) = part.split_at(end);
    let digits = number.chars().filter(char::is_ascii_digit).count();
    if digits == 0 {
        return false;
    }
    if asked {
        unit.is_empty() || Unit::find(unit).is_some()
    } else {
        unit.is_empty() && digits <= OPTION_DIGITS
    }
}
