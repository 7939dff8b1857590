//! `ways` of a worked-out value: what ways of taking it off are compared by. Shown only; nothing rests on it, so a change
//! of what is compared voids nothing.

use super::fields::{Fields, formula, scalar};
use super::formula::Formula;
use crate::diagnostics::{Findings, nearest};
use crate::quantity::Dimension;

/// What may be said: key, kind, and whether it must be.
pub const WAYS_KEYS: &[(&str, Dimension, bool)] = &[
    ("from", Dimension::LENGTH, true),
    ("to", Dimension::LENGTH, true),
    ("most", Dimension::LENGTH, true),
    ("finish", Dimension::LENGTH, false),
    ("speed", Dimension::SPINDLE_SPEED, false),
    ("feed", Dimension::FEED, false),
    ("override", Dimension::RATIO, false),
    ("step over", Dimension::LENGTH, false),
    ("overrun", Dimension::LENGTH, false),
    ("stick out", Dimension::LENGTH, false),
    ("tram", Dimension::RATIO, false),
    ("steel", Dimension::LENGTH, false),
    ("thickness", Dimension::LENGTH, false),
];

/// Formulas by key; the keys are of [`WAYS_KEYS`].
pub type Compared = Vec<(&'static str, Formula)>;

/// Reads the map; empty where there is none.
pub fn ways(fields: &mut Fields, findings: &mut Findings) -> Compared {
    let Some(node) = fields.node("ways", findings) else {
        return Vec::new();
    };
    let Some(inner) = Fields::of(node, "`ways`", findings) else {
        return Vec::new();
    };
    let mut found: Compared = Vec::new();
    for (key, node) in inner.pairs() {
        let known = WAYS_KEYS.iter().find(|(k, ..)| *k == key.text);
        let Some((name, ..)) = known else {
            let finding = findings.error(key.span, format!("`ways` has no `{}`", key.text));
            let keys = || WAYS_KEYS.iter().map(|(k, ..)| *k);
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
        .filter(|(key, _, needed)| *needed && !inner.has(key))
        .map(|(key, ..)| *key)
        .collect();
    if !missing.is_empty() {
        findings
            .error(node.span(), format!("`ways` needs {}", missing.join(", ")))
            .help("write `from`, `to` and `most`: the highest place, the last plane, the deepest bite");
        return Vec::new();
    }
    found
}
