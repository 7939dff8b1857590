//! The rules for answers in words, choices from the shop file, programs and touch steps.

use super::model::{Kind, Options, Procedure, ShopList, Step, WORDS_ALONE, WORDS_FIRST, ZeroBy};
use super::notes::Notes;
use crate::diagnostics::{Findings, nearest};

/// Checks that no answer is a word that every prompt takes as a command.
pub(crate) fn words(steps: &[&Step], findings: &mut Findings) {
    for step in steps {
        let answers: Vec<&String> = match &step.kind {
            Kind::Confirm { answer, wrong, .. } => std::iter::once(answer).chain(wrong).collect(),
            Kind::Choose {
                options: Options::Listed(words),
                ..
            } => words.iter().map(|(w, _)| w).collect(),
            Kind::Choose {
                options: Options::From(_),
                ..
            }
            | Kind::Read { .. }
            | Kind::Note
            | Kind::Touch(_)
            | Kind::WorkOut { .. }
            | Kind::Enter(_)
            | Kind::Program { .. }
            | Kind::Codes(_)
            | Kind::Sign { .. }
            | Kind::Cut { .. }
            | Kind::Inspect
            | Kind::Wait { .. } => continue,
        };
        for answer in answers {
            let lower = answer.to_lowercase();
            let first = lower.split_whitespace().next().unwrap_or("");
            if WORDS_ALONE.contains(&lower.as_str()) || WORDS_FIRST.contains(&first) {
                findings
                    .error(
                        step.span,
                        format!("the answer `{answer}` is a word with its own meaning at every prompt"),
                    )
                    .help("use another word: `back`, `note`, `stop`, `leave` and the like work everywhere");
            }
        }
    }
}

/// Checks that a run has only one program, because it watches the bytes of one file.
pub(crate) fn one_program(procedure: &Procedure, steps: &[&Step], findings: &mut Findings) {
    let programs = steps
        .iter()
        .filter(|s| matches!(s.kind, Kind::Program { .. }));
    for (index, step) in programs.enumerate() {
        if index > 0 {
            findings.error(step.span, "a second program step").help(
                "a run watches the bytes of one program file; use another run for another program",
            );
        } else if procedure.pass_of(&step.id).is_some() {
            findings
                .error(step.span, "a program step in a repeating phase")
                .help("a run has one program; ask for it once, in a phase without `each`");
        }
    }
}

/// Checks that the machine is chosen first, and that each list is chosen from at most once and without a condition.
pub(crate) fn shop_choices(
    procedure: &Procedure,
    steps: &[&Step],
    notes: &Notes,
    findings: &mut Findings,
) {
    let list_of = |step: &Step| step.kind.shop_list();
    if let Some(first) = steps.first()
        && !notes.incomplete
        && list_of(first) != Some(ShopList::Machines)
    {
        findings
            .error(first.span, "the first step must choose the machine")
            .help(
                "start with `- choose: machine` and `from: machines`: a run belongs to one machine",
            );
    }
    for list in ShopList::ALL {
        let mut choosing = steps.iter().filter(|s| list_of(s) == Some(list));
        choosing.next();
        if let Some(second) = choosing.next() {
            findings
                .error(
                    second.span,
                    format!("the {} is chosen a second time", list.one()),
                )
                .help("a run has one; going back to the first choice changes it");
        }
    }
    for step in steps.iter().filter(|s| list_of(s).is_some()) {
        if procedure.pass_of(&step.id).is_some() || step.when.is_some() {
            findings
                .error(
                    step.span,
                    "a choice from the shop file is made once, and always",
                )
                .help("move it to a phase without `each`, and remove `when`");
        }
    }
}

/// Checks that `zero` and `continues` name steps of the right kind.
pub(crate) fn touches(steps: &[&Step], notes: &Notes, findings: &mut Findings) {
    for (index, step) in steps.iter().enumerate() {
        let Kind::Touch(touch) = &step.kind else {
            continue;
        };
        if let ZeroBy::Chosen(id) = &touch.zero
            && !notes.is_lost(id)
        {
            let place = notes.place(step.span, "zero", id);
            let words = steps
                .iter()
                .take(index)
                .find(|s| s.id == *id)
                .and_then(|s| s.kind.listed_options());
            let ways = ["running", "fixed", "machine"];
            match words {
                None => {
                    let finding =
                        findings.error(place, format!("`{id}` is not a way of touching off"));
                    match nearest(id, ways) {
                        Some(near) => finding.help(format!("did you mean `{near}`?")),
                        None => finding.help("write running, fixed, machine, or the id of an earlier choose step with these words"),
                    };
                }
                Some(words) => {
                    if let Some((word, _)) = words.iter().find(|(w, _)| !ways.contains(&w.as_str()))
                    {
                        findings
                            .error(
                                place,
                                format!(
                                    "`{id}` offers `{word}`, which is not a way of touching off"
                                ),
                            )
                            .help("its options must be running, fixed and machine");
                    }
                }
            }
        }
        if let Some(base) = &touch.continues
            && !notes.is_lost(base)
        {
            let place = notes.place(step.span, "continues", base);
            let found = steps.iter().take(index).find(|s| s.id == *base);
            if !found.is_some_and(|s| matches!(s.kind, Kind::Touch(_))) {
                findings
                    .error(place, format!("`{base}` is not an earlier touch step"))
                    .help("name the touch step whose heights this step continues");
            }
        }
        if touch.closing && touch.continues.is_some() {
            findings
                .error(
                    step.span,
                    "a series that continues another has no closing touch of its own",
                )
                .help("remove `closing`");
        }
    }
}
