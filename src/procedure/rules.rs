//! What must hold between the steps of a procedure, whatever its formulas say.

use super::formula::functions;
use super::formula::token::KEYWORDS;
use super::model::{Kind, Options, Phase, Procedure, ShopList, Step, ZeroBy};
use super::yaml::Node;
use crate::diagnostics::{Findings, Span, nearest};
use std::collections::{BTreeMap, BTreeSet};

/// Most questions of a phase before it invites skipping. Source: 7 to 9 is common practice; Degani & Wiener 1993 found
/// lists of 76 items to be skipped through.
const MOST_QUESTIONS: usize = 9;

/// Names with a meaning of their own in formulas.
const RESERVED: [&str; 4] = ["value", "surface", "zero", "pass"];

/// Checks ids, cautions, passes, the order of kinds, and what steps rest on.
pub fn check(procedure: &Procedure, root: &Node, findings: &mut Findings) {
    let steps: Vec<&Step> = procedure.steps().collect();
    ids(&steps, findings);
    cautions(procedure, &steps, root, findings);
    rests_on(&steps, findings);
    shop_choices(procedure, &steps, findings);
    touches(&steps, findings);
    passes(procedure, root, findings);
    hold_points(procedure, findings);
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
        if RESERVED.contains(&step.id.as_str()) || KEYWORDS.contains(&step.id.as_str()) || list_name
        {
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

fn cautions(procedure: &Procedure, steps: &[&Step], root: &Node, findings: &mut Findings) {
    let mut used = BTreeSet::new();
    for step in steps {
        for name in &step.cautions {
            used.insert(name.as_str());
            if !procedure.cautions.contains_key(name) {
                let finding = findings.error(step.span, format!("there is no caution `{name}`"));
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
        .filter(|n| !used.contains(n.as_str()))
    {
        let span = key_span(root, "cautions", name);
        findings
            .look(span, format!("the caution `{name}` is shown at no step"))
            .help("name it in the `cautions` of the steps where it matters");
    }
}

/// Where a key stands in a map under a key of the file.
fn key_span(root: &Node, top: &str, key: &str) -> Span {
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

fn rests_on(steps: &[&Step], findings: &mut Findings) {
    let order: BTreeMap<&str, usize> = steps
        .iter()
        .enumerate()
        .rev()
        .map(|(i, s)| (s.id.as_str(), i))
        .collect();
    for (index, step) in steps.iter().enumerate() {
        for id in &step.rests_on {
            match order.get(id.as_str()) {
                Some(before) if *before < index => {}
                Some(_) => {
                    findings
                        .error(
                            step.span,
                            format!("`{}` rests on `{id}`, which is asked later", step.id),
                        )
                        .help("a step can rest only on steps above it");
                }
                None => {
                    let finding = findings.error(
                        step.span,
                        format!("`{}` rests on `{id}`, which is no step", step.id),
                    );
                    if let Some(near) = nearest(id, order.keys().copied()) {
                        finding.help(format!("did you mean `{near}`?"));
                    }
                }
            }
        }
    }
}

fn shop_choices(procedure: &Procedure, steps: &[&Step], findings: &mut Findings) {
    let list_of = |step: &Step| match step.kind {
        Kind::Choose {
            options: Options::From(list),
            ..
        } => Some(list),
        _ => None,
    };
    if let Some(first) = steps.first()
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

fn touches(steps: &[&Step], findings: &mut Findings) {
    for (index, step) in steps.iter().enumerate() {
        let Kind::Touch(touch) = &step.kind else {
            continue;
        };
        if let ZeroBy::Chosen(id) = &touch.zero {
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
                    findings
                        .error(step.span, format!("`zero: {id}` is no way of touching off"))
                        .help("write running, fixed, machine, or the id of an earlier choose step with these words");
                }
                Some(words) => {
                    if let Some((word, _)) = words.iter().find(|(w, _)| !ways.contains(&w.as_str()))
                    {
                        findings
                            .error(
                                step.span,
                                format!("`{id}` offers `{word}`, which is no way of touching off"),
                            )
                            .help("its options must be running, fixed and machine");
                    }
                }
            }
        }
        if let Some(base) = &touch.continues {
            let found = steps.iter().take(index).find(|s| s.id == *base);
            if !found.is_some_and(|s| matches!(s.kind, Kind::Touch(_))) {
                findings
                    .error(
                        step.span,
                        format!("`continues: {base}` is no earlier touch step"),
                    )
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

fn passes(procedure: &Procedure, root: &Node, findings: &mut Findings) {
    for rule in &procedure.passes {
        let span = key_span(root, "passes", &rule.name);
        let own: Vec<&Phase> = procedure
            .phases
            .iter()
            .filter(|p| p.each.as_deref() == Some(rule.name.as_str()))
            .collect();
        if own.is_empty() {
            findings
                .error(
                    span,
                    format!("no phase is walked for each pass `{}`", rule.name),
                )
                .help(format!("give its phases `each: {}`", rule.name));
            continue;
        }
        if let Some(until) = &rule.until {
            let inspects = own
                .iter()
                .flat_map(|p| &p.steps)
                .any(|s| s.id == *until && matches!(s.kind, Kind::Inspect) && s.when.is_none());
            if !inspects {
                findings
                    .error(span, format!("`{until}` is no inspect step of this pass"))
                    .help(
                        "`until` names an inspect step, always asked, in a phase of the same pass",
                    );
            }
        }
    }
    let mut done: Vec<&str> = Vec::new();
    let mut last: Option<&str> = None;
    for phase in &procedure.phases {
        let each = phase.each.as_deref();
        if let Some(name) = each {
            let span = phase.steps.first().map_or(root.span(), |s| s.span);
            if procedure.pass(name).is_none() {
                let finding = findings.error(
                    span,
                    format!(
                        "the phase `{}` is walked for each `{name}`, which is no pass",
                        phase.id
                    ),
                );
                match nearest(name, procedure.passes.iter().map(|p| p.name.as_str())) {
                    Some(near) => finding.help(format!("did you mean `{near}`?")),
                    None => finding.help("say under `passes:` how often it is walked"),
                };
            }
            if last != each && done.contains(&name) {
                findings
                    .error(
                        span,
                        format!("the phases of the pass `{name}` do not stand together"),
                    )
                    .help("move them next to each other: they are walked again as one");
            }
            done.push(name);
        }
        last = each;
    }
}

/// A cut needs a sign-off of its own before it, and belongs to a pass.
fn hold_points(procedure: &Procedure, findings: &mut Findings) {
    let mut signed_in: Option<&str> = None;
    let mut cuts = 0;
    for phase in &procedure.phases {
        for step in &phase.steps {
            match step.kind {
                Kind::Sign { .. } => signed_in = Some(phase.each.as_deref().unwrap_or("")),
                Kind::Cut { .. } => {
                    cuts += 1;
                    let own = phase.each.as_deref();
                    if own.is_none() {
                        findings.error(step.span, "a cut outside a pass").help(
                            "give its phase `each:` and say under `passes:` how often it is walked",
                        );
                    } else if signed_in != own {
                        findings
                            .error(step.span, "a cut without a sign-off before it in its pass")
                            .help("add a `- sign:` step above it, in a phase of the same pass");
                    }
                    if step.when.is_some() {
                        findings.error(step.span, "a cut cannot depend on a condition");
                    }
                    signed_in = None;
                }
                _ => {}
            }
        }
    }
    if cuts == 0
        && let Some(step) = procedure.steps().next()
    {
        findings
            .error(step.span, "nothing is cut in this procedure")
            .help("add a pass with a `- sign:` and a `- cut:` step");
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
                "long lists are skipped through; split it after at most {MOST_QUESTIONS}"
            ));
    }
}
