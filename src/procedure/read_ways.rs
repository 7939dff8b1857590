//! `ways` of a computed value: the formulas by which ways of cutting are compared. They are only for what is shown.
//! Nothing depends on them, so a change invalidates nothing.

use super::fields::{Fields, formula, scalar};
use super::formula::Formula;
use super::kinds::{Key, Shape};
use crate::diagnostics::{Findings, nearest};
use crate::quantity::Dimension;

/// The keys of `ways`, each with the kind of its formula.
pub(crate) const WAYS_KEYS: &[Key] = &[
    Key::required(
        "from",
        Shape::FormulaFor(Dimension::LENGTH),
        "The highest place",
    ),
    Key::required("to", Shape::FormulaFor(Dimension::LENGTH), "The last plane"),
    Key::required(
        "most",
        Shape::FormulaFor(Dimension::LENGTH),
        "The deepest bite",
    ),
    Key::optional(
        "finish",
        Shape::FormulaFor(Dimension::LENGTH),
        "What the finishing skim takes",
    ),
    Key::optional(
        "speed",
        Shape::FormulaFor(Dimension::SPINDLE_SPEED),
        "Spindle speed",
    ),
    Key::optional("feed", Shape::FormulaFor(Dimension::FEED), "Feed"),
    Key::optional(
        "override",
        Shape::FormulaFor(Dimension::RATIO),
        "Finishing feed override",
    ),
    Key::optional(
        "step over",
        Shape::FormulaFor(Dimension::LENGTH),
        "Step-over",
    ),
    Key::optional(
        "overrun",
        Shape::FormulaFor(Dimension::LENGTH),
        "How far the rim runs past the edges",
    ),
    Key::optional(
        "stick out",
        Shape::FormulaFor(Dimension::LENGTH),
        "Free length of the cutter",
    ),
    Key::optional(
        "tram",
        Shape::FormulaFor(Dimension::RATIO),
        "Tilt of the spindle, a ratio",
    ),
    Key::optional(
        "steel",
        Shape::FormulaFor(Dimension::LENGTH),
        "Metal over the shallowest steel at the highest place",
    ),
    Key::optional(
        "thickness",
        Shape::FormulaFor(Dimension::LENGTH),
        "Thickness at the highest place",
    ),
];

/// Formulas by key. The keys are names from [`WAYS_KEYS`].
pub(crate) type Compared = Vec<(&'static str, Formula)>;

/// Reads the map; empty where there is none.
pub(crate) fn ways(fields: &mut Fields, findings: &mut Findings) -> Compared {
    let Some(node) = fields.node("ways", findings) else {
        return Vec::new();
    };
    let Some(inner) = Fields::of(node, "`ways`", findings) else {
        return Vec::new();
    };
    let mut found: Compared = Vec::new();
    for (key, node) in inner.pairs() {
        let known = WAYS_KEYS.iter().find(|k| k.name == key.text);
        let Some(Key { name, .. }) = known else {
            let finding = findings.error(key.span, format!("`ways` has no `{}`", key.text));
            let keys = || WAYS_KEYS.iter().map(|k| k.name);
            match nearest(&key.text, keys()) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding.help(format!(
                    "its keys are: {}",
                    keys().collect::<Vec<_>>().join(", ")
                )),
            };
            continue;
        };
        if let Some(text) = scalar(node, name, findings)
            && let Some(formula) = formula(text, findings)
        {
            found.push((name, formula));
        }
    }
    let missing: Vec<&str> = WAYS_KEYS
        .iter()
        .filter(|key| key.required && !inner.has(key.name))
        .map(|key| key.name)
        .collect();
    if !missing.is_empty() {
        findings
            .error(node.span(), format!("`ways` needs {}", missing.join(", ")))
            .help("write `from`, `to` and `most`: the highest place, the last plane, the deepest bite");
        return Vec::new();
    }
    found
}
