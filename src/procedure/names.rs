//! Checks every formula of a procedure against the meaning of its names.

use super::formula::Formula;
use super::formula::check::{Type, check, check_kind, check_truth};
use super::kinds::Shape;
use super::model::{CLEAN, CUT_ENDS, Kind, Limit, Options, Procedure, SKIN_LEFT, Step};
use super::notes::Notes;
use super::program_facts::METRIC;
use super::read_ways::WAYS_KEYS;
use super::scope::{KnownStep, Scope};
use crate::diagnostics::Findings;
use crate::program::active::ActiveGroup;
use crate::quantity::{Dimension, Unit, UnitSystem};
use std::collections::BTreeMap;

/// Checks every formula of `procedure`, and returns the procedure with the kinds of its computed values filled in.
pub(crate) fn check_names(
    mut procedure: Procedure,
    notes: &Notes,
    findings: &mut Findings,
) -> Procedure {
    let mut known = BTreeMap::new();
    let mut index = 0;
    for phase in &procedure.phases {
        for step in &phase.steps {
            known.entry(step.id.clone()).or_insert_with(|| KnownStep {
                index,
                kind: type_of(step),
                word: step.kind.word(),
                each: phase.each.clone(),
                when: step.when.as_ref().map(|f| f.text.clone()),
                list: step.kind.shop_list(),
                shows: step
                    .kind
                    .codes()
                    .map(|c| c.must_show.clone())
                    .unwrap_or_default(),
            });
            index += 1;
        }
    }
    let mut index = 0;
    for phase in &mut procedure.phases {
        for step in &mut phase.steps {
            let dimension = {
                let scope = Scope {
                    known: &known,
                    index,
                    id: &step.id,
                    each: phase.each.as_deref(),
                    when: step.when.as_ref().map(|f| f.text.as_str()),
                    own: None,
                    notes,
                };
                check_step(step, scope, findings)
            };
            // The kind of a computed value comes from its formula, so it is known to later steps only from here on.
            if let Some(found) = dimension
                && let Some(entry) = known.get_mut(&step.id)
                && entry.index == index
            {
                entry.kind = Some(Type::Quantity(found));
                if let Kind::WorkOut { dimension, .. } = &mut step.kind {
                    *dimension = found;
                }
            }
            index += 1;
        }
    }
    procedure
}

/// The kind of a step's answer in formulas; `None` for answers that formulas cannot use, and for computed values whose
/// formula is not checked yet.
fn type_of(step: &Step) -> Option<Type> {
    let words = |w: Vec<String>| Some(Type::Words(w));
    match &step.kind {
        Kind::Confirm { answer, wrong, .. } => {
            words(std::iter::once(answer).chain(wrong).cloned().collect())
        }
        Kind::Choose {
            options: Options::Listed(options),
            ..
        } => words(options.iter().map(|(w, _)| w.clone()).collect()),
        Kind::Read { dimension, .. } => Some(Type::Quantity(*dimension)),
        Kind::Touch(_) => Some(Type::Touches),
        Kind::Enter(_) => Some(Type::Quantity(Dimension::LENGTH)),
        Kind::Cut { .. } => words(CUT_ENDS.map(str::to_owned).into()),
        Kind::Inspect => words(vec![CLEAN.to_owned(), SKIN_LEFT.to_owned()]),
        Kind::Wait { .. } => Some(Type::Quantity(Dimension::TIME)),
        Kind::WorkOut { .. }
        | Kind::Choose { .. }
        | Kind::Note
        | Kind::Program { .. }
        | Kind::Codes(_)
        | Kind::Sign { .. } => None,
    }
}

/// Checks the formulas of one step. Returns the kind of a computed value.
fn check_step(step: &Step, mut scope: Scope, findings: &mut Findings) -> Option<Dimension> {
    if let Some(when) = &step.when {
        check_truth(when, &scope, findings);
    }
    let length = Dimension::LENGTH;
    match &step.kind {
        Kind::Choose { must, options } => {
            scope.own = type_of(step);
            for limit in must {
                check_word_limit(limit, options, &scope, findings);
            }
        }
        Kind::Read {
            dimension, limits, ..
        } => {
            check_limits(&limits.must, *dimension, &mut scope, findings);
            check_limits(&limits.expect, *dimension, &mut scope, findings);
        }
        Kind::Touch(touch) => {
            check_limits(&touch.limits.must, length, &mut scope, findings);
            check_limits(&touch.limits.expect, length, &mut scope, findings);
            if let Some(doubt) = &touch.doubt {
                scope.own = None;
                check_kind(doubt, length, &scope, findings);
            }
        }
        Kind::WorkOut {
            value,
            limits,
            ways,
            map,
            ..
        } => {
            for (key, formula) in ways {
                let shape = WAYS_KEYS.iter().find(|k| k.name == *key).map(|k| k.shape);
                if let Some(Shape::FormulaFor(kind)) = shape {
                    check_kind(formula, kind, &scope, findings);
                }
            }
            return match check(value, &scope, findings) {
                Some(Type::Quantity(d)) => {
                    if Unit::usual(d, UnitSystem::Mm).is_none() {
                        findings.error(value.span, format!("there is no unit to show {d} in"));
                    }
                    check_limits(&limits.must, d, &mut scope, findings);
                    check_limits(&limits.expect, d, &mut scope, findings);
                    if *map && d != length {
                        findings
                            .error(
                                value.span,
                                format!("`map` shows what a plane does, and this is {d}"),
                            )
                            .help("a plane is a height; remove `map` from other values");
                    }
                    Some(d)
                }
                Some(other) => {
                    findings.error(
                        value.span,
                        format!("this is {other}, but a number is needed"),
                    );
                    None
                }
                None => None,
            };
        }
        Kind::Enter(enter) => {
            check_kind(&enter.value, length, &scope, findings);
            for formula in enter.sets_zero_at.iter().chain(&enter.tolerance) {
                check_kind(formula, length, &scope, findings);
            }
            check_limits(&enter.limits.must, length, &mut scope, findings);
            check_limits(&enter.limits.expect, length, &mut scope, findings);
        }
        Kind::Cut {
            plane, expected, ..
        } => {
            check_kind(plane, length, &scope, findings);
            if let Some(expected) = expected {
                check_kind(expected, Dimension::TIME, &scope, findings);
            }
        }
        Kind::Wait { time, .. } => {
            check_kind(time, Dimension::TIME, &scope, findings);
        }
        Kind::Codes(codes) => {
            for (group, formula) in codes.must.wanted.iter().chain(&codes.expect.wanted) {
                check_codes_limit(*group, formula, &scope, findings);
            }
        }
        Kind::Confirm { .. }
        | Kind::Note
        | Kind::Program { .. }
        | Kind::Sign { .. }
        | Kind::Inspect => {}
    }
    None
}

fn check_limits(limits: &[Limit], kind: Dimension, scope: &mut Scope, findings: &mut Findings) {
    scope.own = Some(Type::Quantity(kind));
    for formula in limits.iter().flat_map(Limit::formulas) {
        check_kind(formula, kind, scope, findings);
    }
}

/// Checks a value that a group of codes must have.
fn check_codes_limit(
    group: ActiveGroup,
    formula: &Formula,
    scope: &Scope,
    findings: &mut Findings,
) {
    if let Some((_, dimension)) = group.row().number {
        check_kind(formula, dimension, scope, findings);
        return;
    }
    let Some(found) = check(formula, scope, findings) else {
        return;
    };
    let values = group.values();
    let one = |word: &String| values.contains(word) || group == ActiveGroup::Unit && word == METRIC;
    let common = match &found {
        Type::Literal(word) => one(word),
        Type::Words(words) => words.iter().any(one),
        _ => false,
    };
    if !common {
        let values: Vec<String> = values.into_iter().take(12).collect();
        findings
            .error(
                formula.span,
                format!("{found} can never be the {} of a control", group.word()),
            )
            .help(format!(
                "write one of {}, or name an earlier answer that has the same words",
                values.join(", ")
            ));
    }
}

fn check_word_limit(limit: &Limit, options: &Options, scope: &Scope, findings: &mut Findings) {
    for formula in limit.formulas() {
        if limit.exactly.as_ref() != Some(formula) {
            findings
                .error(formula.span, "an answer in words has no order")
                .help("only `exactly` can limit a choice");
            continue;
        }
        let Some(found) = check(formula, scope, findings) else {
            continue;
        };
        let Options::Listed(own) = options else {
            findings.error(
                formula.span,
                "a choice from the shop file cannot be limited",
            );
            continue;
        };
        let common = match &found {
            Type::Literal(word) => own.iter().any(|(w, _)| w == word),
            Type::Words(words) => own.iter().any(|(w, _)| words.contains(w)),
            _ => false,
        };
        if !common {
            findings
                .error(
                    formula.span,
                    format!("{found} can never be one of these options"),
                )
                .help(
                    "compare with an earlier choice that has the same words, or quote one of them",
                );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::check_names;
    use crate::diagnostics::Findings;
    use crate::procedure::notes::Notes;

    #[test]
    fn nothing_is_reported_for_a_valid_procedure() {
        let mut findings = Findings::default();
        let text = include_str!("../../tests/procedures/small.yaml");
        let read = crate::procedure::read::read(text, &mut findings);
        assert!(findings.is_empty(), "{:?}", findings.sorted());
        assert!(read.is_some());
        let mut again = Findings::default();
        check_names(read.unwrap(), &Notes::default(), &mut again);
        assert!(again.is_empty());
    }
}
