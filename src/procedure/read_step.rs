//! Reads one step: the keys that every kind of step has.

use super::fields::{Fields, formula, name};
use super::formula::ast::ExprKind;
use super::kinds::key::STANDS_FOR;
use super::kinds::{self, StepKind};
use super::model::Step;
use super::node::Node;
use super::notes::Notes;
use super::program_facts::{self, FROM_PROGRAM};
use super::{practice, standing};
use crate::diagnostics::{Findings, nearest};
use crate::quantity::{Dimension, Exact, Quantity};
use std::collections::BTreeMap;

/// Keys whose texts name something that is elsewhere in the file.
const NAMING: [&str; 5] = ["cautions", "rests on", "zero", "continues", "while"];

/// Reads steps, and stores those that later ones may repeat.
#[derive(Default)]
pub struct StepReader {
    repeatable: BTreeMap<String, Step>,
    /// Notes for the checks between steps.
    pub notes: Notes,
}

/// Reads one step; `None` when too little of it can be read, which is then noted.
pub fn step(node: &Node, reader: &mut StepReader, findings: &mut Findings) -> Option<Step> {
    let mut id = None;
    let found = whole_step(node, reader, &mut id, findings);
    if found.is_none() {
        reader.notes.lose(id.as_deref());
    }
    found
}

fn whole_step(
    node: &Node,
    reader: &mut StepReader,
    read_id: &mut Option<String>,
    findings: &mut Findings,
) -> Option<Step> {
    let mut fields = Fields::of(node, "a step", findings)?;
    let mut kinds = fields
        .pairs()
        .iter()
        .filter_map(|(key, _)| Some((key, StepKind::from_word(&key.text)?)));
    let Some((_, kind)) = kinds.next() else {
        no_kind(&fields, findings);
        return None;
    };
    if let Some((key, second)) = kinds.next() {
        findings
            .error(
                key.span,
                format!(
                    "a step is of one kind, and this is `{}` and `{}`",
                    kind.word(),
                    second.word()
                ),
            )
            .help("begin a step of its own with `- `, or remove one of the two");
        *read_id = fields.text(kind.word(), findings).map(|t| t.text.clone());
        return None;
    }
    let id_text = fields.required_text(kind.word(), findings)?;
    let id = name(id_text, '_', findings);
    *read_id = Some(id.clone());
    let span = id_text.span;
    fields.span = span;
    for key in NAMING {
        for text in fields.scalars(key) {
            reader.notes.mention(span, key, text);
        }
    }

    let repeated = same_as(&mut fields, kind, reader, findings)?;
    let text = |key, fields: &mut Fields, findings: &mut Findings| {
        fields.text(key, findings).map(|t| t.text.clone())
    };
    let mut needed = |key: &'static str, copied: Option<String>| match (
        text(key, &mut fields, findings),
        copied,
    ) {
        (Some(own), _) => own,
        (None, Some(copied)) if !fields.has(key) => copied,
        _ => {
            if !fields.has(key) {
                fields.required(key, findings);
            }
            String::new()
        }
    };
    let title = needed("title", repeated.as_ref().map(|m| m.title.clone()));
    let why = needed("why", repeated.as_ref().map(|m| m.why.clone()));
    let act = text("do", &mut fields, findings).or(repeated.as_ref().and_then(|m| m.act.clone()));
    let in_short = text("in short", &mut fields, findings)
        .or(repeated.as_ref().and_then(|m| m.in_short.clone()));
    let proves = text("proves", &mut fields, findings);
    let mut cautions = texts(&mut fields, "cautions", findings);
    if let (true, Some(repeated)) = (cautions.is_empty(), &repeated) {
        cautions.clone_from(&repeated.cautions);
    }
    let when = fields.formula("when", findings);
    let fresh_for = time(&mut fields, "fresh for", findings);
    let of_person = fields.yes("asked of the person", findings);
    // The second is the older name of the first, which is needed because runs keep the text that they began with.
    let after_lost_position = ["again after lost position", "again after emergency stop"]
        .map(|key| fields.yes(key, findings))
        .contains(&true);
    let rests_on = texts(&mut fields, "rests on", findings);
    let may_stand = kind.descriptor().own_keys().contains(&STANDS_FOR.name);
    let stands = may_stand.then(|| standing::read(&mut fields, findings));
    let from_program = if kind.descriptor().own_keys().contains(&FROM_PROGRAM.name) {
        program_facts::read_from(&mut fields, findings)
    } else {
        None
    };
    let word = kind;
    let kind = word.read(&mut fields, repeated.as_ref(), findings);
    let practice = practice::read(&mut fields, word, kind.as_ref(), findings).or_else(|| {
        let repeated = repeated.as_ref()?.practice.as_ref()?;
        Some(repeated.repeated())
    });
    fields.finish(&kinds::own_keys(), findings);
    let step = Step {
        id,
        span,
        title,
        act,
        in_short,
        why,
        proves,
        cautions,
        when,
        fresh_for,
        of_person,
        after_lost_position,
        rests_on,
        stands: stands.flatten(),
        from_program,
        practice,
        kind: kind?,
    };
    if repeats(step.kind.step_kind()) {
        reader.repeatable.insert(step.id.clone(), step.clone());
    }
    Some(step)
}

fn no_kind(fields: &Fields, findings: &mut Findings) {
    let words = || StepKind::ALL.iter().map(|k| k.word());
    let first = fields.pairs().first().map(|(k, _)| k);
    let span = first.map_or(fields.span, |k| k.span);
    let finding = findings.error(span, "a step starts with its kind and its id");
    match first.and_then(|k| nearest(&k.text, words())) {
        Some(near) => finding.help(format!("did you mean `- {near}: ...`?")),
        None => finding.help(format!(
            "write `- KIND: id`; the kinds are: {}",
            words().collect::<Vec<_>>().join(", ")
        )),
    };
}

/// The step that this one repeats, if it repeats one. The outer `None` means that it names a step that does not exist.
#[allow(clippy::option_option)]
fn same_as(
    fields: &mut Fields,
    kind: StepKind,
    reader: &StepReader,
    findings: &mut Findings,
) -> Option<Option<Step>> {
    if !repeats(kind) || !fields.has("same as") {
        return Some(None);
    }
    let text = fields.text("same as", findings)?;
    let same_kind = || {
        reader
            .repeatable
            .values()
            .filter(|s| s.kind.step_kind() == kind)
    };
    let model = same_kind().find(|s| s.id == text.text);
    if model.is_none() && !reader.notes.is_lost(&text.text) {
        let word = kind.word();
        let finding = findings.error(
            text.span,
            format!("`{}` is not an earlier {word} step", text.text),
        );
        match nearest(&text.text, same_kind().map(|s| s.id.as_str())) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!("`same as` repeats a {word} step above this one")),
        };
    }
    model.map(|step| Some(step.clone()))
}

/// Whether a step of this kind may repeat an earlier one: one of its forms says so.
fn repeats(kind: StepKind) -> bool {
    kind.descriptor().forms.iter().any(|form| form.repeats)
}

fn texts(fields: &mut Fields, key: &'static str, findings: &mut Findings) -> Vec<String> {
    fields
        .texts(key, findings)
        .into_iter()
        .map(|t| t.text.clone())
        .collect()
}

/// A time written out, such as `15 min`: it must not depend on answers.
pub(crate) fn time(
    fields: &mut Fields,
    key: &'static str,
    findings: &mut Findings,
) -> Option<Quantity> {
    let text = fields.text(key, findings)?;
    // The help says to write a time here. A fault of the formula itself would mislead, so it is not reported.
    let read = formula(text, &mut Findings::default());
    match read.map(|f| f.expr.kind) {
        Some(ExprKind::Number(q)) if q.dimension == Dimension::TIME && q.amount > Exact::ZERO => {
            Some(q)
        }
        _ => {
            findings
                .error(
                    text.span,
                    format!("`{key}` must be a written-out time above zero"),
                )
                .help(format!("write for instance `{key}: 15 min`"));
            None
        }
    }
}
