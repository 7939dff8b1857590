//! Reading one step: what every kind has, and what each kind has of its own.

use super::fields::{Fields, formula, name};
use super::formula::ast::ExprKind;
use super::model::{Enter, Kind, Limit, Limits, Options, ShopList, Step, Touch, ZeroBy};
use super::yaml::{Node, Scalar};
use crate::diagnostics::{Findings, Span, nearest};
use crate::plate::ZeroMode;
use crate::quantity::{Dimension, Exact, Quantity};
use std::collections::BTreeMap;

/// The words that start a step.
pub const KINDS: [&str; 12] = [
    "confirm", "choose", "read", "note", "touch", "work out", "enter", "program", "sign", "cut",
    "inspect", "wait",
];

/// Keys that only some kinds of step have.
const OWN_KEYS: &[&str] = &[
    "answer",
    "wrong",
    "critical",
    "same as",
    "options",
    "from",
    "must",
    "expect",
    "quantity",
    "points",
    "zero",
    "machine readings",
    "repeats",
    "closing",
    "continues",
    "value",
    "into",
    "sets zero at",
    "tolerance",
    "role",
    "states",
    "plane",
    "expected time",
    "release for",
    "for",
    "may be shortened",
];

/// Responses that state nothing. Source: Degani & Wiener 1993, answers are the state or value, not "checked" or "set".
const EMPTY_ANSWERS: &[&str] = &[
    "yes",
    "y",
    "ok",
    "okay",
    "checked",
    "check",
    "set",
    "done",
    "true",
    "confirmed",
    "no",
    "n",
];

/// What quantities a read step may ask for, and what each is.
pub const READABLE: &[(&str, Dimension)] = &[
    ("length", Dimension::LENGTH),
    ("feed", Dimension::FEED),
    ("spindle speed", Dimension::SPINDLE_SPEED),
    ("time", Dimension::TIME),
    ("angle", Dimension::ANGLE),
    ("ratio", Dimension::RATIO),
    ("number", Dimension::RATIO),
    ("teeth", Dimension::TEETH),
    ("power", Dimension::POWER),
    ("chip load", Dimension::CHIP_LOAD),
];

/// Reads steps, remembering the confirm steps that later ones may repeat.
#[derive(Default)]
pub struct StepReader {
    confirms: BTreeMap<String, Step>,
}

/// Reads one step; `None` when too little of it can be read to go on.
pub fn step(node: &Node, reader: &mut StepReader, findings: &mut Findings) -> Option<Step> {
    let mut fields = Fields::of(node, "a step", findings)?;
    let mut kinds = KINDS.iter().filter(|k| fields.has(k));
    let (kind, second) = (kinds.next().copied(), kinds.next().copied());
    let Some(kind) = kind else {
        no_kind(&fields, findings);
        return None;
    };
    if let Some(second) = second {
        findings
            .error(
                fields.span,
                format!("a step is of one kind, and this is `{kind}` and `{second}`"),
            )
            .help("start a second step with `- `");
    }
    let id_text = fields.required_text(kind, findings)?;
    let id = name(id_text, '_', findings);
    let span = id_text.span;
    fields.span = span;

    let model = same_as(&mut fields, kind, reader, findings);
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
            fields.required(key, findings);
            String::new()
        }
    };
    let title = needed("title", model.as_ref().map(|m| m.title.clone()));
    let why = needed("why", model.as_ref().map(|m| m.why.clone()));
    let act = text("do", &mut fields, findings).or(model.as_ref().and_then(|m| m.act.clone()));
    let mut cautions = texts(&mut fields, "cautions", findings);
    if let (true, Some(model)) = (cautions.is_empty(), &model) {
        cautions.clone_from(&model.cautions);
    }
    let when = fields.formula("when", findings);
    let fresh_for = time(&mut fields, "fresh for", findings);
    let of_person = fields.yes("asked of the person", findings);
    let after_emergency_stop = fields.yes("again after emergency stop", findings);
    let rests_on = texts(&mut fields, "rests on", findings);
    let kind = match kind {
        "confirm" => confirm(&mut fields, model.as_ref(), findings),
        "choose" => choose(&mut fields, findings),
        "read" => read(&mut fields, findings),
        "note" => Some(Kind::Note),
        "touch" => touch(&mut fields, findings),
        "work out" => work_out(&mut fields, findings),
        "enter" => enter(&mut fields, findings),
        "program" => Some(Kind::Program),
        "sign" => sign(&mut fields, findings),
        "cut" => cut(&mut fields, findings),
        "inspect" => Some(Kind::Inspect),
        _ => wait(&mut fields, findings),
    };
    fields.finish(OWN_KEYS, findings);
    let step = Step {
        id,
        span,
        title,
        act,
        why,
        cautions,
        when,
        fresh_for,
        of_person,
        after_emergency_stop,
        rests_on,
        kind: kind?,
    };
    if let Kind::Confirm { .. } = step.kind {
        reader.confirms.insert(step.id.clone(), step.clone());
    }
    Some(step)
}

fn no_kind(fields: &Fields, findings: &mut Findings) {
    let first = fields.pairs().first().map(|(k, _)| k);
    let span = first.map_or(fields.span, |k| k.span);
    let finding = findings.error(span, "a step starts with its kind and its id");
    match first.and_then(|k| nearest(&k.text, KINDS)) {
        Some(near) => finding.help(format!("did you mean `- {near}: ...`?")),
        None => finding.help(format!(
            "write `- KIND: id`; the kinds are: {}",
            KINDS.join(", ")
        )),
    };
}

fn same_as(
    fields: &mut Fields,
    kind: &str,
    reader: &StepReader,
    findings: &mut Findings,
) -> Option<Step> {
    if kind != "confirm" {
        return None;
    }
    let text = fields.text("same as", findings)?;
    let model = reader.confirms.get(&text.text);
    if model.is_none() {
        findings
            .error(
                text.span,
                format!("`{}` is not an earlier confirm step", text.text),
            )
            .help("`same as` repeats a confirm step that stands further up");
    }
    model.cloned()
}

fn texts(fields: &mut Fields, key: &'static str, findings: &mut Findings) -> Vec<String> {
    fields
        .texts(key, findings)
        .into_iter()
        .map(|t| t.text.clone())
        .collect()
}

/// A time written out, such as `15 min`: it must not depend on answers.
fn time(fields: &mut Fields, key: &'static str, findings: &mut Findings) -> Option<Quantity> {
    let formula = fields.formula(key, findings)?;
    match formula.expr.kind {
        ExprKind::Number(q) if q.dimension == Dimension::TIME && q.amount > Exact::ZERO => Some(q),
        _ => {
            findings
                .error(
                    formula.span,
                    format!("`{key}` is a time above nought, written out"),
                )
                .help(format!("write for instance `{key}: 15 min`"));
            None
        }
    }
}

fn confirm(fields: &mut Fields, model: Option<&Step>, findings: &mut Findings) -> Option<Kind> {
    let (mut answer, mut wrong, mut critical) = match model.map(|m| &m.kind) {
        Some(Kind::Confirm {
            answer,
            wrong,
            critical,
        }) => (Some(answer.clone()), wrong.clone(), *critical),
        _ => (None, Vec::new(), false),
    };
    if answer.is_none() || fields.has("answer") {
        let text = fields.required_text("answer", findings);
        if let Some(text) = text
            && EMPTY_ANSWERS.contains(&text.text.to_lowercase().as_str())
        {
            findings
                .error(text.span, format!("`{}` states no condition", text.text))
                .help("let the answer name the state that is seen: stopped, closed, worn, clear");
        }
        answer = text.map(|t| t.text.clone());
    }
    if model.is_none() || fields.has("wrong") {
        fields.required("wrong", findings);
        let texts = fields.texts("wrong", findings);
        for text in &texts {
            if Some(&text.text) == answer.as_ref() {
                findings.error(text.span, "the right answer stands among the wrong ones");
            }
        }
        wrong = texts.into_iter().map(|t| t.text.clone()).collect();
    }
    if fields.has("critical") {
        critical = fields.yes("critical", findings);
    }
    fields.text("same as", findings);
    Some(Kind::Confirm {
        answer: answer?,
        wrong,
        critical,
    })
}

fn choose(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let from = fields.text("from", findings);
    let listed = fields.node("options", findings);
    let must = limits(fields, "must", findings);
    let options = match (from, listed) {
        (Some(from), None) => {
            let list = ShopList::ALL.into_iter().find(|l| l.key() == from.text);
            if list.is_none() {
                findings
                    .error(
                        from.span,
                        format!("`{}` is not a list of the shop file", from.text),
                    )
                    .help("write `from: machines`, `from: plates` or `from: cutters`");
            }
            Options::From(list?)
        }
        (None, Some(node)) => Options::Listed(words(node, findings)?),
        (Some(from), Some(_)) => {
            findings.error(from.span, "`from` and `options` exclude each other");
            return None;
        }
        (None, None) => {
            findings
                .error(fields.span, "a choose step without `options` or `from`")
                .help("write `options:` with a word and its meaning each, or `from: cutters`");
            return None;
        }
    };
    Some(Kind::Choose { options, must })
}

fn words(node: &Node, findings: &mut Findings) -> Option<Vec<(String, String)>> {
    let fields = Fields::of(node, "`options`", findings)?;
    if fields.pairs().len() < 2 {
        findings.error(node.span(), "a choice has at least two options");
    }
    Some(
        fields
            .pairs()
            .iter()
            .map(|(key, node)| {
                let meaning = if let Node::Scalar(text) = node {
                    text.text.clone()
                } else {
                    findings
                        .error(
                            key.span,
                            format!("`{}` needs its meaning behind it", key.text),
                        )
                        .help(format!("write `{}: what it means`", key.text));
                    String::new()
                };
                (key.text.clone(), meaning)
            })
            .collect(),
    )
}

fn read(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let quantity = fields.required_text("quantity", findings);
    let limits = both_limits(fields, findings);
    let quantity = quantity?;
    let found = READABLE.iter().find(|(word, _)| *word == quantity.text);
    if found.is_none() {
        let known = READABLE.iter().map(|(w, _)| *w);
        let finding = findings.error(quantity.span, format!("`{}` cannot be read", quantity.text));
        match nearest(&quantity.text, known.clone()) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!(
                "write one of: {}",
                known.collect::<Vec<_>>().join(", ")
            )),
        };
    }
    Some(Kind::Read {
        dimension: found?.1,
        limits,
    })
}

fn both_limits(fields: &mut Fields, findings: &mut Findings) -> Limits {
    Limits {
        must: limits(fields, "must", findings),
        expect: limits(fields, "expect", findings),
    }
}

fn limits(fields: &mut Fields, key: &'static str, findings: &mut Findings) -> Vec<Limit> {
    match fields.node(key, findings) {
        None => Vec::new(),
        Some(Node::List(items, span)) => {
            if items.is_empty() {
                findings.error(*span, format!("`{key}` is an empty list"));
            }
            items
                .iter()
                .filter_map(|i| limit(i, key, findings))
                .collect()
        }
        Some(node) => limit(node, key, findings).into_iter().collect(),
    }
}

fn limit(node: &Node, key: &str, findings: &mut Findings) -> Option<Limit> {
    let what = format!("`{key}`");
    let mut fields = Fields::of(node, &what, findings)?;
    let limit = Limit {
        at_least: fields.formula("at least", findings),
        at_most: fields.formula("at most", findings),
        more_than: fields.formula("more than", findings),
        less_than: fields.formula("less than", findings),
        exactly: fields.formula("exactly", findings),
        because: fields.text("because", findings).map(|t| t.text.clone()),
    };
    let written = ["at least", "at most", "more than", "less than", "exactly"]
        .iter()
        .any(|k| fields.has(k));
    if !written {
        findings
            .error(fields.span, format!("`{key}` sets no limit"))
            .help("write `at least`, `at most`, `more than`, `less than` or `exactly`");
    }
    contradiction(&limit, fields.span, findings);
    fields.finish(&[], findings);
    Some(limit)
}

/// Limits written out that no value can meet.
fn contradiction(limit: &Limit, span: Span, findings: &mut Findings) {
    let number = |f: &Option<super::formula::Formula>| match f.as_ref().map(|f| &f.expr.kind) {
        Some(ExprKind::Number(q)) => Some(*q),
        _ => None,
    };
    let low = number(&limit.at_least).or(number(&limit.more_than));
    let high = number(&limit.at_most).or(number(&limit.less_than));
    if let (Some(low), Some(high)) = (low, high)
        && low.compare(high).is_ok_and(std::cmp::Ordering::is_gt)
    {
        findings
            .error(span, "no value can meet both ends of this limit")
            .help("the lower end is above the upper one");
    }
}

fn touch(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    fields.required("points", findings);
    let points = fields.texts("points", findings);
    let named = matches!(points.as_slice(), [one] if one.text == "named by the operator");
    let mut names: Vec<String> = Vec::new();
    if !named {
        for point in points {
            point_name(point, &mut names, findings);
        }
    }
    let zero = fields.required_text("zero", findings);
    let machine_readings = fields.yes("machine readings", findings);
    let repeats = fields.count("repeats", (1, 9), 1, findings);
    let closing = fields.yes("closing", findings);
    let continues = fields.text("continues", findings).map(|t| t.text.clone());
    let limits = both_limits(fields, findings);
    let zero = match zero?.text.as_str() {
        "running" => ZeroBy::Fixed(ZeroMode::Running),
        "fixed" => ZeroBy::Fixed(ZeroMode::Fixed),
        "machine" => ZeroBy::Fixed(ZeroMode::Machine),
        other => ZeroBy::Chosen(other.to_owned()),
    };
    Some(Kind::Touch(Box::new(Touch {
        points: names,
        zero,
        machine_readings,
        repeats,
        closing,
        continues,
        limits,
    })))
}

fn point_name(point: &Scalar, names: &mut Vec<String>, findings: &mut Findings) {
    let sound = point.text.len() <= 12
        && point
            .text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if !sound {
        findings
            .error(
                point.span,
                format!("`{}` cannot be the name of a point", point.text),
            )
            .help("letters, digits, - and _, at most 12 of them, such as P1 or NE");
    } else if names.contains(&point.text) {
        findings
            .error(
                point.span,
                format!("the point `{}` stands here twice", point.text),
            )
            .help("for more touches of every point write `repeats: 2`");
    } else if matches!(point.text.to_lowercase().as_str(), "closing" | "done") {
        findings.error(
            point.span,
            format!("`{}` is a word with its own meaning here", point.text),
        );
    }
    names.push(point.text.clone());
}

fn work_out(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let value = fields.required_formula("value", findings);
    let limits = both_limits(fields, findings);
    Some(Kind::WorkOut {
        value: value?,
        // Filled in when the formula's kind is known.
        dimension: Dimension::RATIO,
        limits,
    })
}

fn enter(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let value = fields.required_formula("value", findings);
    let into = fields.required_text("into", findings);
    let sets_zero_at = fields.formula("sets zero at", findings);
    let tolerance = fields.formula("tolerance", findings);
    let limits = both_limits(fields, findings);
    Some(Kind::Enter(Box::new(Enter {
        value: value?,
        into: into?.text.clone(),
        sets_zero_at,
        tolerance,
        limits,
    })))
}

fn sign(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let role = fields.required_text("role", findings);
    let states = fields.required_text("states", findings);
    Some(Kind::Sign {
        role: role?.text.clone(),
        states: states?.text.clone(),
    })
}

fn cut(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let plane = fields.required_formula("plane", findings);
    let expected = fields.formula("expected time", findings);
    fields.required("release for", findings);
    let release_for = time(fields, "release for", findings);
    Some(Kind::Cut {
        plane: plane?,
        expected,
        release_for: release_for?,
    })
}

fn wait(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let time = fields.required_text("for", findings);
    let may_be_shortened = fields.yes("may be shortened", findings);
    Some(Kind::Wait {
        time: formula(time?, findings)?,
        may_be_shortened,
    })
}
