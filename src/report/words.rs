//! Events and answers in words.

use super::page::{Item, Page, Tone};
use crate::interlock::answer::{Answer, CodesRead, Origin, Proof, SigningMethod};
use crate::interlock::state::CurrentAnswer;
use crate::interlock::{Cause, CutEnd, Event, Instance, State};
use crate::procedure::Kind;
use crate::procedure::formula::working;
use crate::program::active::ActiveGroup;
use crate::quantity::format::QuantityFormat;

/// The answer of a step in words, with what a worked-out value does not say by itself.
pub(crate) fn answer_in_words(state: &State, at: &Instance, given: &Answer) -> String {
    let text = answer(given, &state.show_at(at));
    match remark(state, at, given) {
        Some(remark) => format!("{text}, {remark}"),
        None => text,
    }
}

/// What a worked-out value does not say by itself, such as which of two limits set it.
pub(crate) fn remark(state: &State, at: &Instance, given: &Answer) -> Option<String> {
    let (Answer::Quantity(q), Some(Kind::WorkOut { value, .. })) =
        (given, state.step(at).map(|s| &s.kind))
    else {
        return None;
    };
    let env = state.env(at);
    // The run may have gone on since: the remark must be of the value that was recorded.
    let same = env.quantity(value).is_ok_and(|now| now == *q);
    same.then(|| working::remark(value, &env))?
}

/// An answer in words.
pub(crate) fn answer(answer: &Answer, show: &QuantityFormat) -> String {
    match answer {
        Answer::Word(text) | Answer::Text(text) => text.clone(),
        Answer::Quantity(q) => show.both(*q),
        Answer::Touched(t) => {
            let heights: Vec<String> = t
                .heights
                .iter()
                .map(|(point, h)| format!("{point} {}", show.signed().one((*h).into())))
                .collect();
            heights.join(", ")
        }
        Answer::Entered { value, read_back } if value == read_back => {
            format!("{}, read back the same", show.signed().both(*value))
        }
        Answer::Entered { value, read_back } => format!(
            "{}, read back {}",
            show.signed().both(*value),
            show.signed().one(*read_back)
        ),
        Answer::File {
            path,
            fingerprint,
            bytes,
            examined,
        } => {
            let print: String = fingerprint.to_string().chars().take(12).collect();
            let examined = examined.as_ref().map_or(String::new(), |e| {
                format!(", examined: {}", e.verdict.word())
            });
            format!("{path} ({bytes} bytes, sha-256 {print}...{examined})")
        }
        Answer::Codes(codes) => codes_in_words(codes),
        Answer::Signed {
            initials,
            means,
            proof,
            second,
            ..
        } => match means {
            SigningMethod::Key => {
                let signs_as = |proof: Option<&Proof>| match proof.and_then(Proof::signs_as) {
                    Some(role) => format!(" as {role}"),
                    None => String::new(),
                };
                let first = signs_as(proof.as_ref());
                match second {
                    None => format!("signed by {initials}{first}, with their key"),
                    Some(s) => format!(
                        "signed by {initials}{first}, with their key; {}{} with theirs",
                        s.initials,
                        signs_as(Some(&s.proof))
                    ),
                }
            }
            SigningMethod::TypedWithCode => {
                format!("signed by {initials} (typed initials and a shown code)")
            }
            SigningMethod::AnswersFile => format!("signed as {initials} by an answers file"),
        },
    }
}

/// Active codes as they were read, then as they were typed.
pub(crate) fn codes_in_words(codes: &CodesRead) -> String {
    let shown = |group: &ActiveGroup| {
        let value = codes.of(*group)?;
        let letter = group.row().number.map(|(letter, _)| letter);
        // Without a code of its own, `none` alone would not say of what there is none.
        let own = if value == "none" {
            format!("no {}", group.word())
        } else {
            value.to_owned()
        };
        Some(letter.map_or(own, |letter| format!("{letter}{value}")))
    };
    let read: Vec<String> = ActiveGroup::ALL.iter().filter_map(shown).collect();
    let unknown = match codes.unknown.as_slice() {
        [] => String::new(),
        words => format!("; not known: {}", words.join(" ")),
    };
    format!(
        "{}{unknown} (typed `{}`)",
        read.join(" "),
        codes.typed.join("`, `")
    )
}

/// Who gave an answer, and from where, in a run whose answers come from both a file and a terminal; the head of a record says
/// it for others.
pub(crate) fn by(given: &CurrentAnswer, state: &State) -> Option<String> {
    if given.from == Origin::Program {
        return Some("read in the program".to_owned());
    }
    let both = state.from_file && state.answers.values().any(|g| g.from == Origin::Terminal);
    both.then(|| match given.from {
        Origin::AnswersFile => format!("{}, by an answers file", given.by),
        _ => given.by.clone(),
    })
}

/// The title of a step for people, with its pass where it has one.
pub(crate) fn title(state: &State, at: &Instance) -> String {
    let title = state
        .step(at)
        .map_or(at.step.as_str(), |s| s.title.as_str());
    match (state.procedure.pass_of(&at.step), at.pass) {
        (Some(pass), Some(n)) => format!("{title} ({pass} pass {n})"),
        _ => title.to_owned(),
    }
}

/// Whether an answer says no more than what was typed for it.
fn repeats(given: &Answer, typed: &str) -> bool {
    match given {
        Answer::Word(text) | Answer::Text(text) => text.eq_ignore_ascii_case(typed),
        // Figures alone are in the unit that the prompt names; a unit or a comma may have been read as something else.
        Answer::Quantity(_) => {
            !typed.is_empty()
                && typed
                    .chars()
                    .all(|c| c.is_ascii_digit() || ['.', '-', '+'].contains(&c))
        }
        Answer::Touched(_)
        | Answer::Codes(_)
        | Answer::Entered { .. }
        | Answer::File { .. }
        | Answer::Signed { .. } => false,
    }
}

/// What was just recorded where it differs from what was `typed`, and what became invalid by it.
pub(crate) fn recorded(events: &[Event], typed: &str, state: &State) -> Page {
    let mut page = Page::new();
    for event in events {
        match event {
            // A value worked out was shown with its working already.
            Event::Answered { at, .. }
                if matches!(state.step(at).map(|s| &s.kind), Some(Kind::WorkOut { .. })) => {}
            Event::Answered { answer: given, .. } if repeats(given, typed) => {}
            // What is read in the program was shown with its examination.
            Event::Answered {
                from: Some(Origin::Program),
                ..
            } => {}
            Event::Answered {
                answer:
                    Answer::File {
                        path,
                        fingerprint,
                        examined: Some(examined),
                        ..
                    },
                ..
            } => {
                let name = std::path::Path::new(path).file_name();
                let name = name.map_or(path.as_str().into(), std::ffi::OsStr::to_string_lossy);
                let digest = fingerprint.to_string();
                let text = format!(
                    "Recorded: {name}, sha-256 {}..., examined: {}",
                    digest.get(..12).unwrap_or(&digest),
                    examined.verdict.word()
                );
                page = page.toned(Tone::Quiet, text);
            }
            Event::Answered {
                at,
                answer: given,
                seen: Some(_),
                ..
            } => {
                let (title, text) = (title(state, at), answer(given, &state.show_at(at)));
                let text = format!("Stands: {title}: {text}");
                page = page.toned(Tone::Quiet, text);
            }
            Event::Answered {
                at, answer: given, ..
            } => {
                let text = answer(given, &state.show_at(at));
                page = page.toned(Tone::Quiet, format!("Recorded: {text}"));
            }
            Event::Accepted {
                limit, reason, by, ..
            } => {
                let text = format!("Outside {limit}; accepted by {by}: {reason}");
                page = page.toned(Tone::Look, text);
            }
            Event::AlsoInUse(also) => {
                let text = format!(
                    "{} is in other open runs too; accepted by {}: {}",
                    also.what.name(),
                    also.by,
                    also.reason
                );
                page = page.toned(Tone::Look, text);
            }
            Event::Voided { steps, because } => {
                let items = steps
                    .iter()
                    .map(|of| Item::toned(Tone::Look, title(state, of)));
                page = page
                    .toned(Tone::Look, format!("No longer holds ({because}):"))
                    .list(items);
            }
            Event::ProgramChanged { found, .. } => {
                let text = match found {
                    Some(_) => {
                        "The program file is not the one that was looked at: its bytes changed."
                    }
                    None => "The program file cannot be read any more.",
                };
                page = page.toned(Tone::Stop, text);
            }
            Event::CutEnded { how, cause, .. } => {
                let text = format!("Recorded: the cut {}", ended(*how, *cause));
                page = page.toned(Tone::Strong, text);
            }
            _ => {}
        }
    }
    page
}

/// How a cut ended, as a verb, and why where that was said.
pub(crate) fn ended(how: CutEnd, cause: Cause) -> String {
    match how {
        CutEnd::Finished => "ran to its end.".to_owned(),
        CutEnd::Stopped if cause.is_said() => {
            format!("was stopped before its end: {}.", cause.word())
        }
        CutEnd::Stopped => "was stopped before its end.".to_owned(),
        CutEnd::EmergencyStop => "ended by emergency stop.".to_owned(),
    }
}

/// What was said beside a word, after a comma.
pub(crate) fn after_comma(said: &str) -> String {
    if said.is_empty() {
        String::new()
    } else {
        format!(", {said}")
    }
}
