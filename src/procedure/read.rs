//! Reads a procedure file: its head, cautions, passes and phases.

use super::fields::{Fields, name};
use super::model::{Caution, PassRule, Phase, Procedure, SignalWord, Step};
use super::node::{self, Node};
use super::notes::Notes;
use super::read_step::{self, StepReader};
use super::yaml;
use super::{names, rules};
use crate::diagnostics::Findings;
use crate::quantity::UnitSystem;
use crate::quantity::parse::DecimalMark;
use std::collections::BTreeMap;

/// The version of the file formats written in `format`.
pub(crate) const FORMAT: u32 = 1;
/// The largest number of passes of one kind.
pub(crate) const MOST_PASSES: u32 = 20;

/// Reads a procedure; `None` when it has an error, all of which are in `findings`.
pub fn read(text: &str, findings: &mut Findings) -> Option<Procedure> {
    let root = yaml::parse(text, findings)?;
    from_node(&root, findings)
}

/// Reads a procedure from its tree. All checks of names and kinds are done here, before the first question.
pub fn from_node(root: &Node, findings: &mut Findings) -> Option<Procedure> {
    let mut fields = Fields::of(root, "a procedure", findings)?;
    format(&mut fields, findings);
    let id = fields
        .required_text("procedure", findings)
        .map(|t| name(t, '-', findings));
    let title = fields.required_text("title", findings);
    let version = fields.required_text("version", findings);
    let unit = unit(&mut fields, findings);
    let decimal = decimal(&mut fields, findings);
    let applies_to = fields.required_text("applies to", findings);
    fields.required("defers to", findings);
    let defers_to = owned(fields.texts("defers to", findings));
    let cautions = cautions(&mut fields, findings);
    let mut reader = StepReader::default();
    let mut passes = passes(&mut fields, &mut reader.notes, findings);
    let phases = phases(&mut fields, &mut reader, findings);
    fields.finish(&[], findings);

    let order: Vec<&str> = phases.iter().filter_map(|p| p.each.as_deref()).collect();
    passes.sort_by_key(|p| order.iter().position(|o| *o == p.name));
    let procedure = Procedure {
        id: id.unwrap_or_default(),
        title: title.map(|t| t.text.clone()).unwrap_or_default(),
        version: version.map(|t| t.text.clone()).unwrap_or_default(),
        unit: unit.unwrap_or(UnitSystem::Mm),
        decimal,
        applies_to: applies_to.map(|t| t.text.clone()).unwrap_or_default(),
        defers_to,
        cautions,
        passes,
        phases,
    };
    rules::check(&procedure, root, &reader.notes, findings);
    let procedure = names::check_names(procedure, &reader.notes, findings);
    (!findings.any_error()).then_some(procedure)
}

/// The `format` line that every file has.
pub(crate) fn format(fields: &mut Fields, findings: &mut Findings) {
    if let Some(text) = fields.required_text("format", findings)
        && text.text != FORMAT.to_string()
    {
        findings
            .error(
                text.span,
                format!("format `{}` is not known here", text.text),
            )
            .help(format!("this version reads `format: {FORMAT}`"));
    }
}

fn owned(texts: Vec<&node::Scalar>) -> Vec<String> {
    texts.into_iter().map(|t| t.text.clone()).collect()
}

fn unit(fields: &mut Fields, findings: &mut Findings) -> Option<UnitSystem> {
    let text = fields.required_text("unit", findings)?;
    let found = UnitSystem::from_word(&text.text);
    if found.is_none() {
        findings
            .error(
                text.span,
                format!("`{}` is not a unit to type in", text.text),
            )
            .help("write `unit: mm` or `unit: inch`");
    }
    found
}

fn decimal(fields: &mut Fields, findings: &mut Findings) -> DecimalMark {
    let Some(text) = fields.text("decimal", findings) else {
        return DecimalMark::Point;
    };
    match text.text.as_str() {
        "point" => DecimalMark::Point,
        "comma" => DecimalMark::Comma,
        _ => {
            findings
                .error(text.span, "the decimal mark is `point` or `comma`")
                .help("write `decimal: point`, or leave the key out");
            DecimalMark::Point
        }
    }
}

fn cautions(fields: &mut Fields, findings: &mut Findings) -> BTreeMap<String, Caution> {
    let Some(node) = fields.node("cautions", findings) else {
        return BTreeMap::new();
    };
    let Some(all) = Fields::of(node, "`cautions`", findings) else {
        return BTreeMap::new();
    };
    all.pairs()
        .iter()
        .filter_map(|(key, node)| {
            let id = name(key, '-', findings);
            let what = format!("the caution `{id}`");
            let mut fields = Fields::of(node, &what, findings)?;
            fields.span = key.span;
            let word = fields.required_text("word", findings);
            let word = word.and_then(|w| signal_word(w, findings));
            let mut text = |key| fields.required_text(key, findings).map(|t| t.text.clone());
            let caution = (
                text("hazard"),
                text("consequence"),
                text("avoid"),
                text("source"),
            );
            fields.finish(&[], findings);
            let (hazard, consequence, avoid, source) = caution;
            // Its faults are reported, but it stays, so that steps that name it are not reported too.
            let caution = Caution {
                word: word.unwrap_or(SignalWord::Notice),
                hazard: hazard.unwrap_or_default(),
                consequence: consequence.unwrap_or_default(),
                avoid: avoid.unwrap_or_default(),
                source: source.unwrap_or_default(),
            };
            Some((id, caution))
        })
        .collect()
}

fn signal_word(text: &node::Scalar, findings: &mut Findings) -> Option<SignalWord> {
    Some(match text.text.as_str() {
        "danger" => SignalWord::Danger,
        "warning" => SignalWord::Warning,
        "caution" => SignalWord::Caution,
        "notice" => SignalWord::Notice,
        other => {
            findings
                .error(text.span, format!("`{other}` is not a signal word"))
                .help(
                    "write danger, warning or caution where somebody can be hurt, notice where not",
                );
            return None;
        }
    })
}

fn passes(fields: &mut Fields, notes: &mut Notes, findings: &mut Findings) -> Vec<PassRule> {
    let Some(node) = fields.node("passes", findings) else {
        return Vec::new();
    };
    let Some(all) = Fields::of(node, "`passes`", findings) else {
        if let Node::List(items, _) = node {
            lose_all(items, notes);
        }
        notes.lose(None);
        return Vec::new();
    };
    let mut found = Vec::new();
    for (key, node) in all.pairs() {
        let id = name(key, '_', findings);
        let what = format!("the pass `{id}`");
        let Some(mut fields) = Fields::of(node, &what, findings) else {
            notes.lose(Some(&id));
            continue;
        };
        fields.span = key.span;
        let until = fields.text("until", findings);
        if let Some(text) = until {
            notes.mention(key.span, "until", text);
        }
        let until = until.map(|t| t.text.clone());
        let (most, times) = (fields.has("at most"), fields.has("times"));
        let at_most = fields.count("at most", (1, MOST_PASSES), 1, findings);
        let times_walked = fields.count("times", (1, MOST_PASSES), 1, findings);
        if most == times || (until.is_some() && times) {
            findings
                .error(key.span, format!("how often is the pass `{id}` walked?"))
                .help("write `until: STEP` with `at most: 8`, or `times: 1`");
        } else if most && until.is_none() {
            findings
                .error(key.span, "`at most` without `until`")
                .help("name the inspect step that ends it in `until`, or write `times`");
        }
        fields.finish(&[], findings);
        found.push(PassRule {
            name: id,
            until: until.filter(|_| !times),
            at_most: if times { times_walked } else { at_most },
        });
    }
    found
}

/// Notes the passes that are meant by a list where a map is needed.
fn lose_all(items: &[Node], notes: &mut Notes) {
    for item in items {
        match item {
            Node::Scalar(text) => notes.lose(Some(&text.text)),
            Node::Map(pairs, _) => pairs.iter().for_each(|(k, _)| notes.lose(Some(&k.text))),
            Node::List(..) | Node::Blank(_) => {}
        }
    }
}

fn phases(fields: &mut Fields, reader: &mut StepReader, findings: &mut Findings) -> Vec<Phase> {
    let nodes = match fields.required("phases", findings) {
        Some(Node::List(items, _)) => items.as_slice(),
        Some(other) => {
            findings
                .error(other.span(), "`phases` is a list")
                .help("begin each phase with `- phase: id`");
            reader.notes.lose(None);
            &[]
        }
        None => {
            reader.notes.lose(None);
            &[]
        }
    };
    nodes
        .iter()
        .filter_map(|node| phase(node, reader, findings))
        .collect()
}

fn phase(node: &Node, reader: &mut StepReader, findings: &mut Findings) -> Option<Phase> {
    let Some(mut fields) = Fields::of(node, "a phase", findings) else {
        reader.notes.lose(None);
        return None;
    };
    let id = fields.required_text("phase", findings);
    fields.span = id.map_or(fields.span, |t| t.span);
    let id = id.map(|t| name(t, '_', findings));
    let title = fields
        .required_text("title", findings)
        .map(|t| t.text.clone());
    let each = fields.text("each", findings);
    let steps: Vec<Step> = match fields.required("steps", findings) {
        Some(Node::List(items, span)) => {
            if items.is_empty() {
                findings
                    .error(*span, "a phase without steps")
                    .help("write its steps, each begun with `- KIND: id`, or remove the phase");
                reader.notes.lose(None);
            }
            items
                .iter()
                .filter_map(|item| read_step::step(item, reader, findings))
                .collect()
        }
        Some(other) => {
            findings
                .error(other.span(), "`steps` is a list")
                .help("begin each step with `- KIND: id`");
            reader.notes.lose(None);
            Vec::new()
        }
        None => {
            reader.notes.lose(None);
            Vec::new()
        }
    };
    if let (Some(each), Some(first)) = (each, steps.first()) {
        reader.notes.mention(first.span, "each", each);
    }
    fields.finish(&[], findings);
    // Its faults are reported, but it stays, so that what depends on its steps is not reported too.
    Some(Phase {
        id: id.unwrap_or_default(),
        title: title.unwrap_or_default(),
        each: each.map(|t| t.text.clone()),
        steps,
    })
}
