//! Generates the JSON Schema of procedure files from the declared keys.

use super::super::keys::{CAUTION, HEAD, LIMIT, PASS, PHASE, STEP, step_needs};
use super::super::kinds::{Form, Key, Shape, StepKind};
use super::super::practice::{Fact, Fault, MillWord};
use super::super::read::FORMAT;
use super::super::read_limit::BOUNDS;
use serde_json::{Map, Value, json};

/// The schema of procedure files, as text.
pub fn procedure() -> String {
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("skimgate procedure, format {FORMAT}"),
        "description": "Keys, shapes and fixed words of a procedure file. `skimgate check` knows the rest: formulas, names, units and order.",
    });
    if let Some(schema) = schema.as_object_mut() {
        schema.extend(object(HEAD));
        schema.insert("$defs".to_owned(), Value::Object(definitions()));
    }
    format!("{schema:#}\n")
}

fn definitions() -> Map<String, Value> {
    let mut defs = shapes();
    let mut limit = object(LIMIT);
    let bounds: Vec<Value> = BOUNDS.iter().map(|b| json!({"required": [b]})).collect();
    // `additionalProperties` is removed and added again, because it ends every map.
    let closed = limit.remove("additionalProperties");
    limit.insert("anyOf".to_owned(), bounds.into());
    limit.extend(closed.map(|c| ("additionalProperties".to_owned(), c)));
    defs.insert("limit".to_owned(), limit.into());
    defs.insert("limits".to_owned(), one_or_list("limit"));
    defs.insert("caution".to_owned(), object(CAUTION).into());
    let passes: Vec<Value> = PASS.iter().map(|keys| object(keys).into()).collect();
    defs.insert("pass".to_owned(), json!({"anyOf": passes}));
    defs.insert("phase".to_owned(), object(PHASE).into());
    let forms = || {
        StepKind::ALL
            .iter()
            .flat_map(|k| k.descriptor().forms.iter().map(move |f| (k, f)))
    };
    let references: Vec<Value> = forms().map(|(_, f)| reference(f.definition)).collect();
    defs.insert("step".to_owned(), json!({"anyOf": references}));
    for (kind, form) in forms() {
        defs.insert(form.definition.to_owned(), step(*kind, form).into());
    }
    defs
}

/// The schema definitions of the shapes.
fn shapes() -> Map<String, Value> {
    let all = [
        ("text", json!({"type": ["string", "number", "boolean"]})),
        ("texts", one_or_list("text")),
        ("yesNo", json!({"enum": ["yes", "no"]})),
        (
            "formula",
            json!({
                "description": "A formula, such as `0.25 mm` or `surface.lowest - clearance`",
                "type": ["string", "number"],
            }),
        ),
        (
            "fact",
            json!({
                "description": format!("A formula over facts of the practice workshop: {}", names(Fact::ALL.iter().map(|f| f.name()))),
                "type": ["string", "number"],
            }),
        ),
        (
            "act",
            json!({
                "description": format!("A line typed at the practice mill; its words: {}", names(MillWord::ALL.iter().map(|w| w.word()))),
                "type": "string",
            }),
        ),
        ("acts", one_or_list("act")),
        ("drill", json!({"enum": Fault::IDS})),
        (
            "facts",
            json!({"anyOf": [
                reference("fact"),
                {"type": "object", "additionalProperties": reference("fact")},
            ]}),
        ),
        ("stepId", pattern("^[a-z][a-z0-9_]{0,39}$")),
        ("name", pattern("^[a-z][a-z0-9-]{0,39}$")),
        ("point", pattern("^[A-Za-z0-9_-]{1,12}$")),
    ];
    all.into_iter().map(|(k, v)| (k.to_owned(), v)).collect()
}

fn step(kind: StepKind, form: &Form) -> Map<String, Value> {
    let id = Key::required(
        kind.word(),
        Shape::StepId,
        "The step's id, its name in formulas",
    );
    let common = STEP.iter().map(|key| Key {
        required: step_needs(form, key),
        ..*key
    });
    let keys: Vec<Key> = std::iter::once(id)
        .chain(common)
        .chain(form.keys.iter().copied())
        .collect();
    let mut schema = Map::new();
    schema.insert("description".to_owned(), form.about.into());
    schema.extend(object(&keys));
    schema
}

/// A map with these keys and no others.
fn object(keys: &[Key]) -> Map<String, Value> {
    let properties: Map<String, Value> = keys
        .iter()
        .map(|k| (k.name.to_owned(), property(k)))
        .collect();
    let required: Vec<Value> = keys
        .iter()
        .filter(|k| k.required)
        .map(|k| k.name.into())
        .collect();
    let mut schema = Map::new();
    schema.insert("type".to_owned(), "object".into());
    schema.insert("properties".to_owned(), properties.into());
    if !required.is_empty() {
        schema.insert("required".to_owned(), required.into());
    }
    schema.insert("additionalProperties".to_owned(), false.into());
    schema
}

fn property(key: &Key) -> Value {
    let mut schema = Map::new();
    schema.insert("description".to_owned(), key.about.into());
    if let Value::Object(shape) = shape(key.shape) {
        schema.extend(shape);
    }
    schema.into()
}

fn shape(shape: Shape) -> Value {
    match shape {
        Shape::Text => reference("text"),
        Shape::Texts => reference("texts"),
        Shape::YesNo => reference("yesNo"),
        Shape::Formula | Shape::FormulaFor(_) => reference("formula"),
        Shape::Limits => reference("limits"),
        Shape::StepId => reference("stepId"),
        Shape::Name => reference("name"),
        Shape::Words(words) => json!({"enum": words}),
        Shape::SomeOf(words) => json!({"anyOf": [
            {"enum": words},
            {"type": "array", "minItems": 1, "uniqueItems": true, "items": {"enum": words}},
        ]}),
        Shape::Only(word) => json!({"const": word}),
        Shape::Format => json!({"const": FORMAT}),
        Shape::Count(least, most) => json!({"type": "integer", "minimum": least, "maximum": most}),
        Shape::Options => json!({
            "type": "object",
            "minProperties": 2,
            "additionalProperties": reference("text"),
        }),
        Shape::Points => json!({"anyOf": [
            {"type": "array", "minItems": 1, "uniqueItems": true, "items": reference("point")},
            reference("point"),
            {"const": "named by the operator"},
        ]}),
        Shape::Places => json!({
            "type": "object",
            "additionalProperties": {
                "type": "array", "minItems": 2, "maxItems": 2, "items": reference("formula"),
            },
        }),
        Shape::Fact => reference("fact"),
        Shape::Facts => reference("facts"),
        Shape::Acts => reference("acts"),
        Shape::Drills => one_or_list("drill"),
        Shape::Map(keys) => object(keys).into(),
        Shape::Named(shaped) => json!({
            "type": "object",
            "propertyNames": reference(shaped.names),
            "additionalProperties": reference(shaped.maps),
        }),
        Shape::ListOf(definition) => json!({
            "type": "array", "minItems": 1, "items": reference(definition),
        }),
    }
}

fn names<'a>(all: impl Iterator<Item = &'a str>) -> String {
    all.collect::<Vec<_>>().join(", ")
}

fn reference(definition: &str) -> Value {
    json!({"$ref": format!("#/$defs/{definition}")})
}

fn one_or_list(definition: &str) -> Value {
    json!({"anyOf": [
        reference(definition),
        {"type": "array", "minItems": 1, "items": reference(definition)},
    ]})
}

fn pattern(pattern: &str) -> Value {
    json!({"type": "string", "pattern": pattern})
}
