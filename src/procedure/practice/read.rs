//! Reading `practice:` of a step, and checking it: facts, acts and faults that are known, and of the step's own kind.

use super::super::fields::{Fields, formula, scalar};
use super::super::formula::check::{Type, check, check_kind, check_truth};
use super::super::kinds::key::{Key, Shape};
use super::super::kinds::{PRACTICE, StepKind};
use super::super::model::{Kind, Options};
use super::super::node::{Node, Scalar};
use super::faults::Comes;
use super::{Fault, MillWord, Practice, So, Workshop};
use crate::diagnostics::{Findings, nearest};
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Unit, UnitSystem};

/// Reads what a step of this kind says about practice; `of` is the step as far as it could be read.
pub(crate) fn read(
    fields: &mut Fields,
    kind: StepKind,
    of: Option<&Kind>,
    findings: &mut Findings,
) -> Option<Practice> {
    let Some(keys) = keys_of(kind) else {
        none_here(fields, kind, findings);
        return None;
    };
    let node = fields.node(PRACTICE, findings)?;
    let what = format!("`practice` of a {} step", kind.word());
    let mut fields = Fields::of(node, &what, findings)?;
    let has = |name: &str| keys.iter().any(|k| k.name == name);
    let mut found = Practice::default();
    if has("true when") {
        found.so = so(&mut fields, of, findings);
    }
    if has("reads") {
        found.reads = fields.formula("reads", findings);
        if let (Some(formula), Some(kind)) = (&found.reads, of) {
            check_reads(formula, kind, findings);
        }
    }
    for (key, lines) in [("first", &mut found.first), ("mend", &mut found.mend)] {
        if has(key) {
            *lines = acts(&mut fields, key, findings);
        }
    }
    if has("answer") {
        let answer = fields.text("answer", findings);
        if let (Some(text), Some(kind)) = (answer, of) {
            check_answer(text, kind, findings);
        }
        found.answer = answer.map(|t| t.text.clone());
    }
    if has("drill") {
        let texts = fields.texts("drill", findings);
        found.drills = texts
            .into_iter()
            .filter_map(|t| drill(t, findings))
            .collect();
    }
    if let Some(Kind::Choose {
        options: Options::From(_),
        ..
    }) = of
    {
        from_the_shop(&fields, findings);
    }
    fields.finish(&[], findings);
    Some(found)
}

/// The keys that `practice` has in a step of this kind; none where it has none at all.
fn keys_of(kind: StepKind) -> Option<&'static [Key]> {
    let keys = kind.descriptor().forms.iter().flat_map(|f| f.keys);
    keys.filter(|k| k.name == PRACTICE)
        .find_map(|k| match k.shape {
            Shape::Map(keys) => Some(keys),
            _ => None,
        })
}

/// Faults a `practice` where the practice workshop itself knows all there is to know.
fn none_here(fields: &mut Fields, kind: StepKind, findings: &mut Findings) {
    let found = fields.pairs().iter().find(|(k, _)| k.text == PRACTICE);
    if let (Some((key, _)), Some(_)) = (found, fields.node(PRACTICE, findings)) {
        let with = StepKind::ALL.iter().filter(|k| keys_of(**k).is_some());
        let with: Vec<&str> = with.map(|k| k.word()).collect();
        findings
            .error(key.span, format!("a step has no key `{PRACTICE}`"))
            .help(format!(
                "the practice workshop knows what is so at a {} step; it belongs to: {}",
                kind.word(),
                with.join(", ")
            ));
    }
}

/// What is chosen from the shop file stands in the workshop, and is known without a word.
fn from_the_shop(fields: &Fields, findings: &mut Findings) {
    for key in ["true when", "reads", "answer"] {
        let found = fields.pairs().iter().find(|(k, _)| k.text == key);
        if let Some((key, _)) = found {
            findings
                .error(
                    key.span,
                    format!("`{}` of a choice from the shop file", key.text),
                )
                .help("the practice workshop knows which one it has; leave this out");
        }
    }
}

/// The answers that a step has, where they are words.
fn answers(kind: &Kind) -> Vec<&str> {
    match kind {
        Kind::Confirm { answer, wrong, .. } => std::iter::once(answer)
            .chain(wrong)
            .map(String::as_str)
            .collect(),
        Kind::Choose {
            options: Options::Listed(options),
            ..
        } => options.iter().map(|(w, _)| w.as_str()).collect(),
        _ => Vec::new(),
    }
}

fn so(fields: &mut Fields, of: Option<&Kind>, findings: &mut Findings) -> Option<So> {
    let node = fields.node("true when", findings)?;
    let listed = matches!(of, Some(Kind::Choose { .. }));
    let Node::Map(pairs, span) = node else {
        let text = scalar(node, "true when", findings)?;
        if listed {
            findings
                .error(text.span, "which of the answers is true then?")
                .help("write `true when: { WORD: CONDITION }` with a word of the options each");
            return None;
        }
        let found = formula(text, findings)?;
        check_truth(&found, &Workshop, findings);
        return Some(So::State(found));
    };
    if !listed && of.is_some() {
        findings
            .error(*span, "a condition for each word belongs to a choice")
            .help("write `true when: CONDITION`: when the state that is asked for is there");
        return None;
    }
    let words = of.map(answers).unwrap_or_default();
    let mut found = Vec::new();
    for (key, node) in pairs {
        if of.is_some() && !words.contains(&key.text.as_str()) {
            let finding =
                findings.error(key.span, format!("`{}` is none of the answers", key.text));
            match nearest(&key.text, words.iter().copied()) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding.help(format!("they are: {}", words.join(", "))),
            };
        }
        let condition = scalar(node, "true when", findings).and_then(|t| formula(t, findings));
        if let Some(condition) = condition {
            check_truth(&condition, &Workshop, findings);
            found.push((key.text.clone(), condition));
        }
    }
    Some(So::Words(found))
}

/// What is read must be of the kind that the step asks for.
fn check_reads(formula: &super::super::formula::Formula, kind: &Kind, findings: &mut Findings) {
    if let Kind::Read { dimension, .. } = kind {
        check_kind(formula, *dimension, &Workshop, findings);
        return;
    }
    let words = answers(kind);
    match check(formula, &Workshop, findings) {
        Some(Type::Words(found)) if found.iter().any(|w| words.contains(&w.as_str())) => {}
        Some(Type::Words(found)) => {
            findings
                .error(formula.span, "this is never one of the answers")
                .help(format!(
                    "it is one of {}; the answers are: {}. `true when` gives each answer its own condition",
                    found.join(", "),
                    words.join(", ")
                ));
        }
        Some(other) => {
            findings
                .error(
                    formula.span,
                    format!("this is {other}, and an answer in words is wanted"),
                )
                .help("`true when: { WORD: CONDITION }` gives each answer its own condition");
        }
        None => {}
    }
}

/// Lines typed at the practice mill, each with a word of its own.
fn acts(fields: &mut Fields, key: &'static str, findings: &mut Findings) -> Vec<String> {
    let texts = fields.texts(key, findings);
    for text in &texts {
        let word = text.text.split_whitespace().next().unwrap_or_default();
        if MillWord::find(word).is_some() {
            continue;
        }
        let finding = findings.error(
            text.span,
            format!("`{word}` is no word of the practice mill"),
        );
        match nearest(word, MillWord::ALL.iter().map(|w| w.word())) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help("`skimgate rehearse --facts` lists them; one act an entry"),
        };
    }
    texts.into_iter().map(|t| t.text.clone()).collect()
}

fn check_answer(text: &Scalar, kind: &Kind, findings: &mut Findings) {
    if let Kind::Read {
        dimension, percent, ..
    } = kind
    {
        let usual = Unit::usual(*dimension, UnitSystem::Mm);
        let unit = if *percent { Unit::find("%") } else { usual };
        let read = unit.map(|unit| quantity(&text.text, &unit, DecimalMark::Point));
        if let Some(Err(e)) = read {
            findings
                .error(text.span, e.to_string())
                .help(format!("write {dimension} with its unit"));
        }
        return;
    }
    let words = answers(kind);
    if words.is_empty() || words.contains(&text.text.as_str()) {
        return;
    }
    let finding = findings.error(text.span, format!("`{}` is none of the answers", text.text));
    match nearest(&text.text, words.iter().copied()) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding.help(format!("they are: {}", words.join(", "))),
    };
}

fn drill(text: &Scalar, findings: &mut Findings) -> Option<Fault> {
    let Some(fault) = Fault::find(&text.text) else {
        let finding = findings.error(text.span, format!("there is no drill `{}`", text.text));
        match nearest(&text.text, Fault::IDS.iter().copied()) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help("`skimgate rehearse --list` lists them"),
        };
        return None;
    };
    if fault.row().comes == Comes::First {
        findings
            .error(
                text.span,
                format!("the drill `{}` comes at no step", text.text),
            )
            .help("its fault is there from the beginning; leave it out here");
    }
    Some(fault)
}
