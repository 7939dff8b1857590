//! Reading what each kind of step has of its own.

use super::fields::{Fields, formula};
use super::model::{Beside, Enter, Kind, Options, ShopList, Step};
use super::node::{Node, Scalar};
use super::read_limit::{both_limits, limits};
use super::read_step::time;
use crate::diagnostics::{Findings, nearest};
use crate::quantity::Dimension;

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

/// What a read step may measure of the plate that its account knows too.
const PLATE_THICKNESS: &str = "plate thickness";

/// Challenge and response; `model` is the step it repeats.
pub fn confirm(fields: &mut Fields, model: Option<&Step>, findings: &mut Findings) -> Option<Kind> {
    let (mut answer, mut wrong, mut critical, mut undoes) = match model.map(|m| &m.kind) {
        Some(Kind::Confirm {
            answer,
            wrong,
            critical,
            undoes,
        }) => (
            Some(answer.clone()),
            wrong.clone(),
            *critical,
            undoes.clone(),
        ),
        _ => (None, Vec::new(), false, Vec::new()),
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
                findings
                    .error(text.span, "the right answer stands among the wrong ones")
                    .help("a wrong answer names another state that could well be there");
            }
        }
        wrong = texts.into_iter().map(|t| t.text.clone()).collect();
    }
    if fields.has("critical") {
        critical = fields.yes("critical", findings);
    }
    if fields.has("undoes") {
        let texts = fields.texts("undoes", findings);
        for text in texts.iter().filter(|t| !wrong.contains(&t.text)) {
            let finding = findings.error(
                text.span,
                format!("`{}` is none of the wrong answers", text.text),
            );
            match nearest(&text.text, wrong.iter().map(String::as_str)) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding.help(format!("they are: {}", wrong.join(", "))),
            };
        }
        if let (Some(first), false) = (texts.first(), fields.has("rests on")) {
            findings
                .error(first.span, "`undoes` without `rests on`")
                .help("name behind `rests on` the confirmations that hold no more in such a state");
        }
        undoes = texts.into_iter().map(|t| t.text.clone()).collect();
    }
    fields.text("same as", findings);
    Some(Kind::Confirm {
        answer: answer?,
        wrong,
        critical,
        undoes,
    })
}

/// One of several words, or of the items of a shop list.
pub fn choose(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let from = fields.text("from", findings);
    let listed = fields.node("options", findings);
    let must = limits(fields, "must", findings);
    let options = match (from, listed) {
        (Some(from), None) => {
            let list = ShopList::ALL.into_iter().find(|l| l.key() == from.text);
            if list.is_none() {
                let finding = findings.error(
                    from.span,
                    format!("`{}` is not a list of the shop file", from.text),
                );
                match nearest(&from.text, ShopList::ALL.map(ShopList::key)) {
                    Some(near) => finding.help(format!("did you mean `{near}`?")),
                    None => {
                        finding.help("write `from: machines`, `from: plates` or `from: cutters`")
                    }
                };
            }
            Options::From(list?)
        }
        (None, Some(node)) => Options::Listed(words(node, findings)?),
        (Some(from), Some(_)) => {
            findings
                .error(from.span, "`from` and `options` exclude each other")
                .help("keep the one that is meant");
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
        findings
            .error(node.span(), "a choice has at least two options")
            .help("write `word: what it means` for each");
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

/// A number with a unit.
pub fn read(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let quantity = fields.required_text("quantity", findings);
    let limits = both_limits(fields, findings);
    let measures = fields.text("measures", findings);
    let quantity = quantity?;
    if let Some(text) = measures
        && (text.text != PLATE_THICKNESS || quantity.text != "length")
    {
        findings
            .error(
                text.span,
                "only the thickness of the plate is held against its account",
            )
            .help(format!(
                "write `measures: {PLATE_THICKNESS}` under `quantity: length`, or leave it out"
            ));
    }
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
        percent: quantity.text == "ratio",
        measures_plate: measures.is_some(),
        limits,
    })
}

/// A value by formula.
pub fn work_out(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let value = fields.required_formula("value", findings);
    let limits = both_limits(fields, findings);
    let ways = super::read_ways::ways(fields, findings);
    let map = fields.yes("map", findings);
    Some(Kind::WorkOut {
        value: value?,
        // Filled in when the formula's kind is known.
        dimension: Dimension::RATIO,
        limits,
        ways,
        map,
    })
}

/// A value for the control and its read-back.
pub fn enter(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
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

/// A hold point.
pub fn sign(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let role = fields.required_text("role", findings);
    let states = fields.required_text("states", findings);
    let second = fields
        .text("second", findings)
        .and_then(|text| second(text, findings));
    Some(Kind::Sign {
        role: role?.text.clone(),
        states: states?.text.clone(),
        second,
    })
}

fn second(text: &Scalar, findings: &mut Findings) -> Option<Beside> {
    let said = text.text.trim();
    let found = Beside::WORDS.iter().find(|(word, _)| *word == said);
    if found.is_none() {
        let words = Beside::WORDS.map(|(word, _)| word);
        let finding = findings.error(text.span, format!("`{said}` is nobody who can sign beside"));
        match nearest(said, words) {
            Some(near) => finding.help(format!("did you mean `second: {near}`?")),
            None => finding.help(
                "write `operator` (anybody else on the list of people), `trainer` (or an owner), or `owner`",
            ),
        };
    }
    found.map(|(_, beside)| *beside)
}

/// Cycle start.
pub fn cut(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
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

/// A timer.
pub fn wait(fields: &mut Fields, findings: &mut Findings) -> Option<Kind> {
    let time = fields.required_text("for", findings);
    let may_be_shortened = fields.yes("may be shortened", findings);
    Some(Kind::Wait {
        time: formula(time?, findings)?,
        may_be_shortened,
    })
}
