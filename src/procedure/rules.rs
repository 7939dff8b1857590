//! The rules between the steps of a procedure that do not concern its formulas.

use super::formula::token::KEYWORDS;
use super::formula::{BuiltIn, functions};
use super::model::{Kind, Options, Phase, Procedure, ShopList, Step};
use super::node::Node;
use super::notes::Notes;
use super::{choice_rules, pass_rules, program_facts, standing};
use crate::diagnostics::{Findings, Span, nearest};
use std::collections::{BTreeMap, BTreeSet};

/// The largest number of questions in a phase; a longer one is easily skipped through. Source: 7 to 9 is common
/// practice; Degani & Wiener 1993 found that lists of 76 items were skipped through.
const MOST_QUESTIONS: usize = 9;

/// Checks ids, cautions, passes, the order of kinds, and the dependencies between steps.
pub(crate) fn check(procedure: &Procedure, root: &Node, notes: &Notes, findings: &mut Findings) {
    let steps: Vec<&Step> = procedure.steps().collect();
    ids(&steps, findings);
    cautions(procedure, &steps, root, notes, findings);
    depends_on(&steps, notes, findings);
    choice_rules::words(&steps, findings);
    choice_rules::one_program(procedure, &steps, findings);
    choice_rules::shop_choices(procedure, &steps, notes, findings);
    choice_rules::touches(&steps, notes, findings);
    if !notes.incomplete {
        program_facts::check(&steps, findings);
        program_facts::check_answered(&steps, findings);
    }
    standing::check(procedure, &steps, notes, findings);
    pass_rules::passes(procedure, root, notes, findings);
    // If a step could not be read, the order may be right although it seems wrong.
    if !notes.incomplete {
        pass_rules::hold_points(procedure, findings);
    }
    for phase in &procedure.phases {
        length(phase, findings);
    }
}

fn ids(steps: &[&Step], findings: &mut Findings) {
    let mut seen = BTreeSet::new();
    for step in steps {
        if !seen.insert(step.id.as_str()) {
            findings
                .error(step.span, format!("there is a step `{}` already", step.id))
                .help("every step has an id of its own; `same as` repeats one under a new id");
        }
        let list_name = ShopList::of_one(&step.id).is_some()
            && !matches!(step.kind, Kind::Choose { options: Options::From(list), .. } if list.one() == step.id);
        if BuiltIn::begins(&step.id) || KEYWORDS.contains(&step.id.as_str()) || list_name {
            findings
                .error(
                    step.span,
                    format!("`{}` has a meaning of its own in formulas", step.id),
                )
                .help("give the step another id");
        }
        if functions::find(&step.id).is_some() {
            findings
                .look(step.span, format!("`{}` is a function too", step.id))
                .help("formulas tell them apart by the parenthesis, people may not");
        }
    }
}

fn cautions(
    procedure: &Procedure,
    steps: &[&Step],
    root: &Node,
    notes: &Notes,
    findings: &mut Findings,
) {
    let mut used = BTreeSet::new();
    for step in steps {
        for name in &step.cautions {
            used.insert(name.as_str());
            if !procedure.cautions.contains_key(name) {
                let place = notes.place(step.span, "cautions", name);
                let finding = findings.error(place, format!("there is no caution `{name}`"));
                match nearest(name, procedure.cautions.keys().map(String::as_str)) {
                    Some(near) => finding.help(format!("did you mean `{near}`?")),
                    None => finding.help("write it under `cautions:` at the top of the file"),
                };
            }
        }
    }
    for name in procedure
        .cautions
        .keys()
        .filter(|n| !used.contains(n.as_str()) && !notes.incomplete)
    {
        let span = key_span(root, "cautions", name);
        findings
            .look(span, format!("the caution `{name}` is shown at no step"))
            .help("name it in the `cautions` of the steps where it matters");
    }
}

/// The place of `key` in the map under the file's key `top`.
pub(crate) fn key_span(root: &Node, top: &str, key: &str) -> Span {
    let inside = |node: &Node, key: &str| -> Option<(Span, Node)> {
        let Node::Map(pairs, _) = node else {
            return None;
        };
        let (k, node) = pairs.iter().find(|(k, _)| k.text == key)?;
        Some((k.span, node.clone()))
    };
    inside(root, top)
        .and_then(|(_, node)| inside(&node, key))
        .map_or(root.span(), |(span, _)| span)
}

fn depends_on(steps: &[&Step], notes: &Notes, findings: &mut Findings) {
    let order: BTreeMap<&str, usize> = steps
        .iter()
        .enumerate()
        .rev()
        .map(|(i, s)| (s.id.as_str(), i))
        .collect();
    for (index, step) in steps.iter().enumerate() {
        for id in step.rests_on.iter().filter(|id| !notes.is_lost(id)) {
            let place = notes.place(step.span, "rests on", id);
            match order.get(id.as_str()) {
                Some(before) if *before < index => {}
                Some(_) => {
                    findings
                        .error(
                            place,
                            format!("`{}` depends on `{id}`, which is asked later", step.id),
                        )
                        .help("a step can depend only on steps above it");
                }
                None => {
                    let finding = findings.error(
                        place,
                        format!("`{}` depends on `{id}`, which is not a step", step.id),
                    );
                    match nearest(id, order.keys().copied()) {
                        Some(near) => finding.help(format!("did you mean `{near}`?")),
                        None => finding.help("write the ids of steps above this one"),
                    };
                }
            }
        }
    }
}

fn length(phase: &Phase, findings: &mut Findings) {
    let questions: Vec<&Step> = phase
        .steps
        .iter()
        .filter(|s| !matches!(s.kind, Kind::WorkOut { .. }))
        .collect();
    if let Some(tenth) = questions.get(MOST_QUESTIONS) {
        findings
            .look(
                tenth.span,
                format!(
                    "the phase `{}` asks {} questions",
                    phase.id,
                    questions.len()
                ),
            )
            .help(format!(
                "people skip through long lists; split it after at most {MOST_QUESTIONS}"
            ));
    }
}
