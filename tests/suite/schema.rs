//! The JSON Schemas against the reader: the same keys, the same files fit, and what is structurally broken does not.
//!
//! A validator of exactly the keywords that the two schemas use stands here, from memory of draft 2020-12; a keyword
//! that it does not know fails the test. It takes YAML as editors do: plain numbers are numbers, all else is text.

use serde_json::{Map, Number, Value, json};
use skimgate::diagnostics::Findings;
use skimgate::procedure::ShopList;
use skimgate::procedure::facts::{Fact, FactKind};
use skimgate::procedure::keys::{CAUTION, HEAD, LIMIT, PASS, PHASE, STEP};
use skimgate::procedure::kinds::{self, Key, StepKind};
use skimgate::procedure::node::{Node, Scalar};
use skimgate::procedure::read;
use skimgate::procedure::read_step::{StepReader, step};
use skimgate::procedure::schema::{SHOP, procedure};
use skimgate::procedure::yaml;
use skimgate::procedure::{dialect, motion};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;

fn schema(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn json_of(node: &Node) -> Value {
    let plain = |s: &Scalar| {
        let number = s.text.parse::<i64>().map(Number::from).ok();
        let number = number.or_else(|| s.text.parse::<f64>().ok().and_then(Number::from_f64));
        number.filter(|_| !s.quoted).map(Value::Number)
    };
    match node {
        Node::Scalar(s) => plain(s).unwrap_or_else(|| Value::String(s.text.clone())),
        Node::List(items, _) => items.iter().map(json_of).collect(),
        Node::Map(pairs, _) => {
            let pairs = pairs.iter().map(|(k, v)| (k.text.clone(), json_of(v)));
            Value::Object(pairs.collect::<Map<_, _>>())
        }
        Node::Blank(_) => Value::Null,
    }
}

/// Why `value` does not fit, in a few words; `None` when it does.
fn misfit(root: &Value, schema: &Value, value: &Value) -> Option<String> {
    let rules = schema.as_object().unwrap();
    rules
        .iter()
        .find_map(|(keyword, rule)| match keyword.as_str() {
            "$schema" | "$defs" | "title" | "description" => None,
            // Handled with `properties`, which it depends on.
            "additionalProperties" if rules.contains_key("properties") => None,
            "$ref" => {
                let name = rule.as_str()?.strip_prefix("#/$defs/")?;
                misfit(root, &root["$defs"][name], value)
            }
            "type" => {
                let listed = rule
                    .as_array()
                    .cloned()
                    .unwrap_or_else(|| vec![rule.clone()]);
                let fits = listed.iter().any(|t| is_of(t.as_str().unwrap(), value));
                (!fits).then(|| format!("{value} is no {rule}"))
            }
            "enum" => (!rule.as_array()?.contains(value)).then(|| format!("{value} not in {rule}")),
            "const" => (rule != value).then(|| format!("{value} is not {rule}")),
            "pattern" => {
                let text = value.as_str()?;
                (!matches(rule.as_str()?, text)).then(|| format!("{text} against {rule}"))
            }
            "minimum" => (value.as_i64()? < rule.as_i64()?).then(|| format!("{value} < {rule}")),
            "maximum" => (value.as_i64()? > rule.as_i64()?).then(|| format!("{value} > {rule}")),
            "minItems" => {
                let least = usize::try_from(rule.as_u64()?).unwrap();
                (value.as_array()?.len() < least).then(|| "too short a list".to_owned())
            }
            "maxItems" => {
                let most = usize::try_from(rule.as_u64()?).unwrap();
                (value.as_array()?.len() > most).then(|| "too long a list".to_owned())
            }
            "uniqueItems" => {
                let items = value.as_array()?;
                let unique: BTreeSet<_> = items.iter().map(Value::to_string).collect();
                (unique.len() < items.len()).then(|| "twice in a list".to_owned())
            }
            "items" => value.as_array()?.iter().find_map(|v| misfit(root, rule, v)),
            "minProperties" => {
                let least = usize::try_from(rule.as_u64()?).unwrap();
                (value.as_object()?.len() < least).then(|| "too few keys".to_owned())
            }
            "required" => {
                let map = value.as_object()?;
                let missing = rule
                    .as_array()?
                    .iter()
                    .find(|k| !map.contains_key(k.as_str().unwrap()));
                missing.map(|k| format!("{k} is missing"))
            }
            "propertyNames" => {
                let mut keys = value.as_object()?.keys();
                keys.find_map(|k| misfit(root, rule, &json!(k)))
            }
            "properties" => value
                .as_object()?
                .iter()
                .find_map(|(key, v)| match rule.get(key) {
                    Some(rule) => misfit(root, rule, v),
                    None => (rules.get("additionalProperties") == Some(&json!(false)))
                        .then(|| format!("unknown key {key}")),
                }),
            "additionalProperties" => {
                let mut values = value.as_object()?.values();
                values.find_map(|v| misfit(root, rule, v))
            }
            "anyOf" => {
                let found: Vec<_> = rule
                    .as_array()?
                    .iter()
                    .map(|r| misfit(root, r, value))
                    .collect();
                found.iter().all(Option::is_some).then(|| {
                    format!(
                        "none of: {}",
                        found.into_iter().flatten().collect::<Vec<_>>().join("; ")
                    )
                })
            }
            other => panic!("the schema uses `{other}`, which is not checked here"),
        })
}

fn is_of(kind: &str, value: &Value) -> bool {
    match kind {
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "object" => value.is_object(),
        "array" => value.is_array(),
        other => panic!("unknown type {other}"),
    }
}

/// The three patterns the schemas use, in plain code.
fn matches(pattern: &str, text: &str) -> bool {
    let id = |joint: char| {
        text.len() <= 40
            && text.starts_with(|c: char| c.is_ascii_lowercase())
            && text
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == joint)
    };
    match pattern {
        "^[a-z][a-z0-9_]{0,39}$" => id('_'),
        "^[a-z][a-z0-9-]{0,39}$" => id('-'),
        "^[A-Za-z0-9_-]{1,12}$" => {
            (1..=12).contains(&text.len())
                && text
                    .chars()
                    .all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
        }
        other => panic!("unknown pattern {other}"),
    }
}

/// Why the file does not fit its schema; `None` when it does.
fn misfit_of_file(path: &str) -> Option<String> {
    let text = fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let root = yaml::parse(&text, &mut Findings::default()).unwrap();
    let value = json_of(&root);
    let schema = if value.get("shop").is_some() {
        schema(SHOP)
    } else {
        schema(&procedure())
    };
    misfit(&schema, &schema, &value)
}

#[test]
fn sound_files_fit() {
    for path in [
        "checklists/base-plate.yaml",
        "checklists/shop.yaml",
        "tests/procedures/small.yaml",
        "tests/procedures/codes.yaml",
        "tests/procedures/shop.yaml",
        // Faults that no schema can know.
        "tests/broken/formula-later-step.yaml",
        "tests/broken/formula-mm-and-rpm.yaml",
        "tests/broken/cut-without-sign.yaml",
        "tests/broken/shop-contradiction.yaml",
    ] {
        assert_eq!(misfit_of_file(path), None, "{path}");
    }
}

#[test]
fn files_of_a_wrong_shape_do_not_fit() {
    for name in [
        "blank-values",
        "caution-word-and-gap",
        "choose-faults",
        "format-unknown",
        "key-of-another-kind",
        "key-unknown",
        "keys-missing",
        "kind-two-in-one",
        "kind-unknown",
        "limit-blank",
        "limit-blank-in-braces",
        "limit-none",
        "names-bad",
        "pass-how-often",
        "pass-too-many",
        "phase-empty",
        "program-says",
        "read-unknown-quantity",
        "shape-list-for-map",
        "shape-map-for-list",
        "shape-map-for-text",
        "shop-blank",
        "shop-dialect",
        "shop-fact-missing",
        "shop-fact-unknown",
        "shop-motion",
        "shop-names",
        "shop-no-cutters",
        "shop-unit-missing",
        "shop-word-unknown",
        "touch-points",
        "unit-unknown",
        "yes-or-no",
    ] {
        assert!(
            misfit_of_file(&format!("tests/broken/{name}.yaml")).is_some(),
            "{name} fits"
        );
    }
}

/// The keys that the schema gives to each kind of step.
fn keys_by_kind() -> BTreeMap<String, BTreeSet<String>> {
    let schema = schema(&procedure());
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for kind in schema["$defs"]["step"]["anyOf"].as_array().unwrap() {
        let name = kind["$ref"]
            .as_str()
            .unwrap()
            .trim_start_matches("#/$defs/");
        let definition = &schema["$defs"][name];
        let kind = definition["required"][0].as_str().unwrap().to_owned();
        let keys = definition["properties"]
            .as_object()
            .unwrap()
            .keys()
            .cloned();
        found.entry(kind).or_default().extend(keys);
    }
    found
}

#[test]
fn steps_have_the_keys_that_the_reader_knows() {
    let by_kind = keys_by_kind();
    assert_eq!(
        by_kind.keys().cloned().collect::<BTreeSet<_>>(),
        StepKind::ALL.iter().map(|k| k.word().to_owned()).collect()
    );
    for (kind, keys) in &by_kind {
        let common = STEP.iter().map(|k| k.name);
        for key in common.chain(kinds::own_keys()).chain(["colour"]) {
            let text = format!("{kind}: x\n{key}: y\n");
            let node = yaml::parse(&text, &mut Findings::default()).unwrap();
            let mut findings = Findings::default();
            step(&node, &mut StepReader::default(), &mut findings);
            let refused = findings
                .sorted()
                .iter()
                .any(|f| f.message == format!("a step has no key `{key}`"));
            // A step that repeats nothing is given up before its keys are counted.
            if key != "same as" || kind != "confirm" {
                assert_eq!(refused, !keys.contains(key), "{kind}: {key}");
            }
        }
    }
}

#[test]
fn shop_items_have_the_facts_that_the_reader_knows() {
    let schema = schema(SHOP);
    for list in ShopList::ALL {
        let definition = &schema["$defs"][list.one()];
        let facts: BTreeSet<String> = list.facts().iter().map(|f| f.key.to_owned()).collect();
        let mut keys: BTreeSet<String> = definition["properties"]
            .as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect();
        // Groups of their own, which a machine may go without.
        for group in [motion::KEY, dialect::KEY] {
            assert_eq!(keys.remove(group), list == ShopList::Machines, "{group}");
        }
        assert_eq!(keys, facts);
        let required: BTreeSet<&str> = definition["required"]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(Value::as_str)
            .collect();
        let needed = list.facts().iter().filter(|f| !f.optional).map(|f| f.key);
        assert_eq!(required, needed.collect::<BTreeSet<_>>());
    }
}

#[test]
fn the_motion_of_a_machine_has_the_keys_that_the_reader_knows() {
    let schema = schema(SHOP);
    let definition = &schema["$defs"][motion::KEY];
    let keys = |facts: &[Fact]| {
        facts
            .iter()
            .map(|f| f.key.to_owned())
            .collect::<BTreeSet<_>>()
    };
    let needed: BTreeSet<String> = definition["required"]
        .as_array()
        .unwrap()
        .iter()
        .map(|k| k.as_str().unwrap().to_owned())
        .collect();
    assert_eq!(needed, keys(motion::NEEDED));
    let all: BTreeSet<String> = definition["properties"]
        .as_object()
        .unwrap()
        .keys()
        .cloned()
        .collect();
    assert_eq!(all, &keys(motion::NEEDED) | &keys(motion::OPTIONAL));
}

#[test]
fn the_dialect_of_a_machine_has_the_keys_and_words_that_the_reader_knows() {
    let schema = schema(SHOP);
    let mut keys = schema["$defs"][dialect::KEY]["properties"]
        .as_object()
        .unwrap()
        .clone();
    assert!(keys.remove(dialect::HARMLESS).is_some());
    assert!(keys.remove(dialect::SHOWN).is_some());
    assert_eq!(keys.len(), dialect::WORDS.len());
    for fact in dialect::WORDS {
        let FactKind::Words(words) = fact.kind else {
            panic!("{} is no word", fact.key);
        };
        assert_eq!(keys[fact.key]["enum"], json!(words), "{}", fact.key);
    }
}

/// The keys that the reader names where it meets one that it does not know.
fn keys_named_for(text: &str) -> BTreeSet<String> {
    let root = yaml::parse(text, &mut Findings::default()).unwrap();
    let mut findings = Findings::default();
    read::from_node(&root, &mut findings);
    let findings = findings.sorted();
    let unknown = findings
        .iter()
        .find(|f| f.message.ends_with("has no key `zzzzzzzz`"))
        .unwrap_or_else(|| panic!("{findings:?}"));
    let help = unknown.help.as_deref().unwrap();
    let keys = help.strip_prefix("the keys are: ").unwrap();
    keys.split(", ").map(str::to_owned).collect()
}

#[test]
fn the_maps_around_the_steps_have_the_keys_that_the_reader_knows() {
    let of = |keys: &[Key]| {
        keys.iter()
            .map(|k| k.name.to_owned())
            .collect::<BTreeSet<_>>()
    };
    let read = "phases:\n- phase: a\n  title: t\n  steps:\n  - read: r\n    title: t\n    why: w\n    quantity: length\n";
    for (text, keys) in [
        ("zzzzzzzz: 1\n".to_owned(), of(HEAD)),
        ("cautions:\n  c:\n    zzzzzzzz: 1\n".to_owned(), of(CAUTION)),
        (
            "passes:\n  p:\n    zzzzzzzz: 1\n".to_owned(),
            PASS.iter().flat_map(|keys| of(keys)).collect(),
        ),
        ("phases:\n- zzzzzzzz: 1\n".to_owned(), of(PHASE)),
        (format!("{read}    must: {{ zzzzzzzz: 1 }}\n"), of(LIMIT)),
    ] {
        assert_eq!(keys_named_for(&text), keys, "{text}");
    }
}

/// Editors take the file that ships; `UPDATE_EXPECT=1` writes it anew from the declared keys.
#[test]
fn the_schema_that_ships_is_the_one_that_the_keys_make() {
    let path = format!(
        "{}/src/procedure/schema/procedure.schema.json",
        env!("CARGO_MANIFEST_DIR")
    );
    if std::env::var_os("UPDATE_EXPECT").is_some() {
        fs::write(&path, procedure()).unwrap();
    }
    assert!(
        fs::read_to_string(&path).unwrap() == procedure(),
        "{path} differs from the declared keys; run with UPDATE_EXPECT=1 and read the difference"
    );
}

#[test]
fn the_readme_shows_the_table_of_kinds() {
    let readme = fs::read_to_string(format!("{}/README.md", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let table = kinds::table();
    assert!(
        readme.contains(&table),
        "README.md lacks this table:\n{table}"
    );
}

#[test]
fn check_prints_both() {
    for (of, text) in [("procedure", procedure()), ("shop", SHOP.to_owned())] {
        let output = assert_cmd::Command::cargo_bin("skimgate")
            .unwrap()
            .args(["check", "--schema", of])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0));
        assert_eq!(String::from_utf8(output.stdout).unwrap(), text);
    }
}
