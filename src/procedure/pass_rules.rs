//! The rules for passes and for the hold points before their cuts.

use super::model::{Kind, Phase, Procedure};
use super::node::Node;
use super::notes::Notes;
use super::rules::key_span;
use crate::diagnostics::{Findings, nearest};

/// Checks that each pass has phases, that they are neighbours, and that each phase names a known pass.
pub(crate) fn passes(procedure: &Procedure, root: &Node, notes: &Notes, findings: &mut Findings) {
    let unknown = |p: &Phase| {
        p.each
            .as_deref()
            .is_some_and(|e| procedure.pass(e).is_none())
    };
    // If a phase names an unknown pass, that is the fault to correct.
    let misnamed = procedure.phases.iter().any(unknown);
    for rule in &procedure.passes {
        let span = key_span(root, "passes", &rule.name);
        let own: Vec<&Phase> = procedure
            .phases
            .iter()
            .filter(|p| p.each.as_deref() == Some(rule.name.as_str()))
            .collect();
        if own.is_empty() {
            if misnamed || notes.incomplete {
                continue;
            }
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
            if !inspects && !notes.is_lost(until) {
                let place = notes.place(span, "until", until);
                findings
                    .error(place, format!("`{until}` is no inspect step of this pass"))
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
            let span = notes.place(span, "each", name);
            if procedure.pass(name).is_none() && !notes.is_lost(name) {
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
                        format!("the phases of the pass `{name}` are not next to each other"),
                    )
                    .help("move them together: they are repeated as one");
            }
            done.push(name);
        }
        last = each;
    }
}

/// Checks that each cut belongs to a pass and has its own sign-off before it.
pub(crate) fn hold_points(procedure: &Procedure, findings: &mut Findings) {
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
                Kind::Confirm { .. }
                | Kind::Choose { .. }
                | Kind::Read { .. }
                | Kind::Note
                | Kind::Touch(_)
                | Kind::WorkOut { .. }
                | Kind::Enter(_)
                | Kind::Program { .. }
                | Kind::Codes(_)
                | Kind::Inspect
                | Kind::Wait { .. } => {}
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
