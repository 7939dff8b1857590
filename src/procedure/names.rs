//! What names stand for at each step, and the check of every formula against it.

use super::formula::ast::Reference;
use super::formula::check::{Names, Type, Unknown, check, check_kind, check_truth};
use super::model::{
    CLEAN, EMERGENCY_STOP, FINISHED, Kind, Limit, Options, Procedure, SKIN_LEFT, STOPPED, ShopList,
    Step,
};
use crate::diagnostics::{Findings, nearest};
use crate::quantity::{Dimension, Unit, UnitSystem};
use std::collections::BTreeMap;

/// What is known of a step when later ones are checked.
struct Known {
    index: usize,
    kind: Option<Type>,
    word: &'static str,
    each: Option<String>,
    when: Option<String>,
    list: Option<ShopList>,
}

/// The names that can be used at one step.
struct Scope<'a> {
    known: &'a BTreeMap<String, Known>,
    index: usize,
    id: &'a str,
    each: Option<&'a str>,
    when: Option<&'a str>,
    /// The kind of `value`, where this step's limits may use it.
    own: Option<Type>,
}

/// Checks every formula of `procedure`; gives it back with the kinds of its worked-out values filled in.
pub fn check_names(mut procedure: Procedure, findings: &mut Findings) -> Procedure {
    let mut known = BTreeMap::new();
    let mut index = 0;
    for phase in &procedure.phases {
        for step in &phase.steps {
            known.entry(step.id.clone()).or_insert_with(|| Known {
                index,
                kind: type_of(step),
                word: step.kind.word(),
                each: phase.each.clone(),
                when: step.when.as_ref().map(|f| f.text.clone()),
                list: match step.kind {
                    Kind::Choose {
                        options: Options::From(list),
                        ..
                    } => Some(list),
                    _ => None,
                },
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
                };
                check_step(step, scope, findings)
            };
            // A worked-out value's kind comes from its formula, so later steps learn it only now.
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

/// The kind of a step's answer in formulas; `None` for answers that formulas cannot use, and for worked-out values
/// until their formula is checked.
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
        Kind::Cut { .. } => words(
            [FINISHED, STOPPED, EMERGENCY_STOP]
                .map(str::to_owned)
                .into(),
        ),
        Kind::Inspect => words(vec![CLEAN.to_owned(), SKIN_LEFT.to_owned()]),
        Kind::Wait { .. } => Some(Type::Quantity(Dimension::TIME)),
        Kind::WorkOut { .. }
        | Kind::Choose { .. }
        | Kind::Note
        | Kind::Program
        | Kind::Sign { .. } => None,
    }
}

/// Checks the formulas of one step. Gives the kind of a worked-out value.
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
        Kind::Read { dimension, limits } => {
            check_limits(&limits.must, *dimension, &mut scope, findings);
            check_limits(&limits.expect, *dimension, &mut scope, findings);
        }
        Kind::Touch(touch) => {
            check_limits(&touch.limits.must, length, &mut scope, findings);
            check_limits(&touch.limits.expect, length, &mut scope, findings);
        }
        Kind::WorkOut { value, limits, .. } => {
            return match check(value, &scope, findings) {
                Some(Type::Quantity(d)) => {
                    if Unit::usual(d, UnitSystem::Mm).is_none() {
                        findings.error(value.span, format!("there is no unit to show {d} in"));
                    }
                    check_limits(&limits.must, d, &mut scope, findings);
                    check_limits(&limits.expect, d, &mut scope, findings);
                    Some(d)
                }
                Some(other) => {
                    findings.error(
                        value.span,
                        format!("this is {other}, and a number is wanted"),
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
        Kind::Confirm { .. } | Kind::Note | Kind::Program | Kind::Sign { .. } | Kind::Inspect => {}
    }
    None
}

fn check_limits(limits: &[Limit], kind: Dimension, scope: &mut Scope, findings: &mut Findings) {
    scope.own = Some(Type::Quantity(kind));
    for formula in limits.iter().flat_map(Limit::formulas) {
        check_kind(formula, kind, scope, findings);
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

fn unknown(message: impl Into<String>, help: impl Into<String>) -> Unknown {
    Unknown {
        message: message.into(),
        help: Some(help.into()),
    }
}

impl Scope<'_> {
    fn fact(&self, list: ShopList, tail: Option<&str>) -> Result<Type, Unknown> {
        let one = list.one();
        let chosen = self.known.values().find(|k| k.list == Some(list));
        match chosen {
            None => {
                return Err(unknown(
                    format!("no step chooses the {one}"),
                    format!("add a step `- choose: {one}` with `from: {}`", list.key()),
                ));
            }
            Some(k) if k.index >= self.index => {
                return Err(unknown(
                    format!("the {one} is chosen only later"),
                    "move the choice up, or this step down",
                ));
            }
            Some(_) => {}
        }
        let facts = || {
            list.facts()
                .iter()
                .filter(|f| f.type_in_formulas().is_some())
        };
        let names: Vec<String> = facts().map(super::facts::Fact::name).collect();
        let Some(tail) = tail else {
            return Err(unknown(
                format!("which fact of the {one}?"),
                format!(
                    "write for instance `{one}.{}`",
                    names.first().map_or("", String::as_str)
                ),
            ));
        };
        match list
            .fact(tail)
            .and_then(super::facts::Fact::type_in_formulas)
        {
            Some(found) => Ok(found),
            None => Err(unknown(
                format!("a {one} has no fact `{tail}`"),
                match nearest(tail, names.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{one}.{near}`?"),
                    None => format!("its facts are: {}", names.join(", ")),
                },
            )),
        }
    }

    fn touched_before(&self, what: &str) -> Result<Type, Unknown> {
        let touched = self
            .known
            .values()
            .any(|k| k.word == "touch" && k.index < self.index);
        if touched {
            Ok(Type::Quantity(Dimension::LENGTH))
        } else {
            Err(unknown(
                format!("`{what}` is known only after a touch step"),
                "move this step behind the first touch step",
            ))
        }
    }

    fn built_in(&self, name: &Reference) -> Option<Result<Type, Unknown>> {
        let tail = name.tail.as_deref();
        Some(match (name.head.as_str(), tail) {
            ("value", None) => match &self.own {
                Some(own) => Ok(own.clone()),
                None => Err(unknown(
                    "`value` is the step's own value, and is known only in its limits",
                    "name another step, or use it in `must` and `expect`",
                )),
            },
            ("surface", Some("highest" | "lowest" | "spread")) => {
                self.touched_before(&name.to_string())
            }
            ("zero", Some("height")) => self.touched_before("zero.height"),
            ("pass", Some("number")) => {
                if self.each.is_some() {
                    Ok(Type::Quantity(Dimension::RATIO))
                } else {
                    Err(unknown(
                        "`pass.number` is known only inside a repeating phase",
                        "give the phase `each:`, or leave the number out",
                    ))
                }
            }
            ("surface" | "zero" | "pass" | "value", _) => Err(unknown(
                format!("`{name}` is not known here"),
                "write surface.highest, surface.lowest, surface.spread, zero.height, pass.number or value",
            )),
            (head, _) => self.fact(ShopList::of_one(head)?, tail),
        })
    }

    fn step(&self, id: &str) -> Result<(&Known, Type), Unknown> {
        let Some(known) = self.known.get(id) else {
            let ids = self.known.iter().filter(|(_, k)| k.index < self.index);
            let ids = ids.map(|(id, _)| id.as_str());
            let built_in = ["surface", "zero", "pass", "machine", "plate", "cutter"];
            return Err(unknown(
                format!("`{id}` is not known here"),
                match nearest(id, ids.chain(built_in)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "names are ids of earlier steps, and machine, plate, cutter, surface, \
                             zero, pass with a fact behind a dot"
                        .to_owned(),
                },
            ));
        };
        if id == self.id {
            return Err(unknown(
                format!("`{id}` rests on itself"),
                "in limits write `value` for the step's own value",
            ));
        }
        if known.index > self.index {
            return Err(unknown(
                format!("`{id}` is asked only later"),
                "a formula can use only steps that stand above it",
            ));
        }
        if let Some(when) = &known.when
            && !self.when.is_some_and(|own| own.contains(when.as_str()))
        {
            return Err(unknown(
                format!("`{id}` is not always asked"),
                format!("give this step the same condition, `when: {when}`"),
            ));
        }
        match &known.kind {
            Some(kind) => Ok((known, kind.clone())),
            None if known.word == "work out" => Err(Unknown {
                message: format!("`{id}` has a fault of its own"),
                help: Some("mend that first".to_owned()),
            }),
            None => Err(unknown(
                format!(
                    "the answer of a {} step cannot be used in a formula",
                    known.word
                ),
                "name another step",
            )),
        }
    }
}

impl Names for Scope<'_> {
    fn kind_of(&self, name: &Reference) -> Result<Type, Unknown> {
        if let Some(found) = self.built_in(name) {
            return found;
        }
        let (_, kind) = self.step(&name.head)?;
        if name.tail.is_some() {
            return Err(unknown(
                format!("`{}` has no facts behind a dot", name.head),
                format!(
                    "write `{}`, or a function of it such as `lowest({})`",
                    name.head, name.head
                ),
            ));
        }
        Ok(kind)
    }

    fn has_previous(&self, step: &str) -> Result<Type, Unknown> {
        let known = self.known.get(step).ok_or_else(|| {
            unknown(
                format!("`{step}` is not known here"),
                "name a step of the same pass",
            )
        })?;
        if known.each.as_deref() != self.each || self.each.is_none() {
            return Err(unknown(
                format!("`{step}` is not walked again with this step"),
                "`previous` asks for a step of the same repeating pass",
            ));
        }
        match &known.kind {
            Some(kind) => Ok(kind.clone()),
            // A step further down, or this one: its kind is that of the value used otherwise.
            None => Ok(Type::Quantity(Dimension::LENGTH)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::check_names;
    use crate::diagnostics::Findings;

    #[test]
    fn nothing_is_reported_of_a_sound_procedure() {
        let mut findings = Findings::default();
        let text = include_str!("../../tests/procedures/small.yaml");
        let read = crate::procedure::read::read(text, &mut findings);
        assert!(findings.is_empty(), "{:?}", findings.sorted());
        assert!(read.is_some());
        let mut again = Findings::default();
        check_names(read.unwrap(), &mut again);
        assert!(again.is_empty());
    }
}
