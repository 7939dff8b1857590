//! What must hold of choices from the shop file and of touch steps.

use super::model::{Kind, Options, Procedure, ShopList, Step, ZeroBy};
use super::notes::Notes;
use crate::diagnostics::{Findings, nearest};

/// The machine is chosen first; each list at most once, and always.
pub fn shop_choices(
    procedure: &Procedure,
    steps: &[&Step],
    notes: &Notes,
    findings: &mut Findings,
) {
    let list_of = |step: &Step| match step.kind {
        Kind::Choose {
            options: Options::From(list),
            ..
        } => Some(list),
        _ => None,
    };
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

/// `zero` and `continues` name what they must.
pub fn touches(steps: &[&Step], notes: &Notes, findings: &mut Findings) {
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
                .and_then(|s| match &s.kind {
                    Kind::Choose {
                        options: Options::Listed(words),
                        ..
                    } => Some(words),
                    _ => None,
                });
            let ways = ["running", "fixed", "machine"];
            match words {
                None => {
                    let finding =
                        findings.error(place, format!("`{id}` is no way of touching off"));
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
                                format!("`{id}` offers `{word}`, which is no way of touching off"),
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
                    .error(place, format!("`{base}` is no earlier touch step"))
                    .help("name the touch step whose heights go on here");
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
