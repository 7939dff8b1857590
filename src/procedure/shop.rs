//! The shop file: the shop's machines, plates and cutters. Facts, not people.

use super::dialect::{self, MachineDialect};
use super::facts::{BOTH, Fact, FactKind, ORDERED};
use super::fields::{Fields, name, scalar};
use super::formula::Value;
use super::model::ShopList;
use super::motion::{self, MachineMotion};
use super::node::Node;
use super::yaml;
use crate::diagnostics::{Findings, Span};
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Dimension, Length, Quantity, Unit, UnitSystem};
use std::collections::BTreeMap;

/// A shop file that was read and checked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shop {
    /// The shop's name.
    pub name: String,
    /// A note about the file.
    pub note: Option<String>,
    lists: BTreeMap<ShopList, Vec<Item>>,
}

/// A machine, plate or cutter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Item {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// How its axes move, for a machine whose file says so.
    pub motion: Option<MachineMotion>,
    /// How its control reads programs, for a machine whose file says so.
    pub dialect: Option<MachineDialect>,
    facts: BTreeMap<String, Value>,
    lengths: Vec<(String, Length)>,
}

impl Item {
    /// Its fasteners in the file's order, each with the depth of its head below the surface; empty where none are
    /// given.
    pub(crate) fn fasteners(&self) -> &[(String, Length)] {
        &self.lengths
    }

    /// Whether it is the same item with the same facts; its title is none of them.
    pub(crate) fn has_same_facts(&self, other: &Self) -> bool {
        let facts = |item: &Self| (item.facts.clone(), item.lengths.clone());
        self.id == other.id
            && self.motion == other.motion
            && self.dialect == other.dialect
            && facts(self) == facts(other)
    }

    /// The fact `name`, if it is a word or a text.
    pub(crate) fn word(&self, name: &str) -> Option<&str> {
        match self.facts.get(name) {
            Some(Value::Word(word)) => Some(word),
            _ => None,
        }
    }

    /// The fact `name`, if it is a length, rounded to whole counts.
    pub(crate) fn length(&self, name: &str) -> Option<Length> {
        Length::nearest(self.quantity(name)?)
    }

    /// The fact with this name in formulas.
    pub(crate) fn fact(&self, name: &str) -> Option<&Value> {
        self.facts.get(name)
    }

    /// The fact `name`, if it is a quantity.
    pub(crate) fn quantity(&self, name: &str) -> Option<Quantity> {
        match self.facts.get(name) {
            Some(Value::Quantity(q)) => Some(*q),
            _ => None,
        }
    }
}

impl Shop {
    /// The items of a list, in the file's order.
    pub fn items(&self, list: ShopList) -> &[Item] {
        self.lists.get(&list).map_or(&[], Vec::as_slice)
    }

    /// The item with this id.
    pub(crate) fn item(&self, list: ShopList, id: &str) -> Option<&Item> {
        self.items(list).iter().find(|i| i.id == id)
    }
}

/// Reads a shop file; `None` when it has an error, all of which are in `findings`.
pub fn read(text: &str, findings: &mut Findings) -> Option<Shop> {
    let root = yaml::parse(text, findings)?;
    let shop = from_node(&root, findings)?;
    (!findings.any_error()).then_some(shop)
}

/// Reads a shop file from its tree.
pub(crate) fn from_node(root: &Node, findings: &mut Findings) -> Option<Shop> {
    let mut fields = Fields::of(root, "a shop file", findings)?;
    super::read::format(&mut fields, findings);
    let name = fields.required_text("shop", findings);
    let note = fields.text("note", findings).map(|t| t.text.clone());
    let mut lists = BTreeMap::new();
    for list in ShopList::ALL {
        if let Some(node) = fields.required(list.key(), findings) {
            lists.insert(list, items(list, node, findings));
        }
    }
    fields.finish(&[], findings);
    Some(Shop {
        name: name?.text.clone(),
        note,
        lists,
    })
}

fn items(list: ShopList, node: &Node, findings: &mut Findings) -> Vec<Item> {
    let Some(fields) = Fields::of(node, list.key(), findings) else {
        return Vec::new();
    };
    if fields.pairs().is_empty() {
        findings
            .error(node.span(), format!("there are no {} here", list.key()))
            .help(format!("write one {} at least", list.one()));
    }
    fields
        .pairs()
        .iter()
        .filter_map(|(key, node)| {
            let id = name(key, '-', findings);
            item(list, id, key.span, node, findings)
        })
        .collect()
}

fn item(
    list: ShopList,
    id: String,
    at: Span,
    node: &Node,
    findings: &mut Findings,
) -> Option<Item> {
    let what = format!("the {} `{id}`", list.one());
    let mut fields = Fields::of(node, &what, findings)?;
    fields.span = at;
    let mut facts = BTreeMap::new();
    let mut places = BTreeMap::new();
    let mut title = String::new();
    let mut lengths = Vec::new();
    for fact in list.facts() {
        let node = if fact.optional {
            fields.node(fact.key, findings)
        } else {
            fields.required(fact.key, findings)
        };
        let Some(node) = node else {
            let default = fact.default.map(|word| Value::Word(word.to_owned()));
            facts.extend(default.map(|value| (fact.name(), value)));
            continue;
        };
        if fact.kind == FactKind::Lengths {
            lengths = named_lengths(fact, node, findings);
            continue;
        }
        let Some(text) = scalar(node, fact.key, findings) else {
            continue;
        };
        if fact.key == "title" {
            title.clone_from(&text.text);
            continue;
        }
        places.insert(fact.key, text.span);
        match value(fact.key, fact.kind, &text.text, None) {
            Ok(value) => {
                facts.insert(fact.name(), value);
            }
            Err((message, help)) => {
                findings.error(text.span, message).help(help);
            }
        }
    }
    let motion = match list {
        ShopList::Machines => fields
            .node(motion::KEY, findings)
            .and_then(|node| motion::read(node, &what, findings)),
        _ => None,
    };
    let dialect = match list {
        ShopList::Machines => fields
            .node(dialect::KEY, findings)
            .and_then(|node| dialect::read(node, &what, findings)),
        _ => None,
    };
    fields.finish(&[], findings);
    let item = Item {
        id,
        title,
        motion,
        dialect,
        facts,
        lengths,
    };
    in_order(list, &item, &places, findings);
    Some(item)
}

/// Reads names, each with a length.
fn named_lengths(fact: &Fact, node: &Node, findings: &mut Findings) -> Vec<(String, Length)> {
    let Some(fields) = Fields::of(node, fact.key, findings) else {
        return Vec::new();
    };
    let one = Fact {
        kind: FactKind::Above(Dimension::LENGTH),
        ..*fact
    };
    let mut found = Vec::new();
    for (key, node) in fields.pairs() {
        let Some(text) = scalar(node, &key.text, findings) else {
            continue;
        };
        match value(&key.text, one.kind, &text.text, None) {
            Ok(Value::Quantity(q)) => {
                let length = Length::nearest(q);
                found.extend(length.map(|length| (name(key, '-', findings), length)));
            }
            Ok(_) => {}
            Err((message, help)) => {
                findings.error(text.span, message).help(help);
            }
        }
    }
    found
}

/// Checks facts that limit each other: a lowest one below a highest one, a corner smaller than the cutter.
fn in_order(
    list: ShopList,
    item: &Item,
    places: &BTreeMap<&'static str, Span>,
    findings: &mut Findings,
) {
    let quantity = |key: &str| item.quantity(&key.replace([' ', '-'], "_"));
    for (of, low, high) in ORDERED.iter().filter(|(of, ..)| *of == list) {
        if let (Some(a), Some(b)) = (quantity(low), quantity(high))
            && a.compare(b).is_ok_and(std::cmp::Ordering::is_gt)
            && let Some(span) = places.get(low)
        {
            findings
                .error(
                    *span,
                    format!("`{low}` of this {} is above its `{high}`", of.one()),
                )
                .help("one of the two is wrong; is a unit or a decimal point off?");
        }
    }
    for (of, one, other) in BOTH.iter().filter(|(of, ..)| *of == list) {
        let (given, missing) = match (places.get(one), places.get(other)) {
            (Some(span), None) => (*span, other),
            (None, Some(span)) => (*span, one),
            _ => continue,
        };
        findings
            .error(
                given,
                format!("this {} has no `{missing}` with it", of.one()),
            )
            .help("give both, or neither");
    }
    if let (Some(corner), Some(diameter)) = (quantity("corner"), quantity("diameter"))
        && corner
            .times(Quantity::whole(2))
            .is_ok_and(|twice| twice.compare(diameter).is_ok_and(std::cmp::Ordering::is_ge))
        && let Some(span) = places.get("corner")
    {
        findings
            .error(*span, "twice the corner is as wide as the cutter or wider")
            .help("the corner is its radius, or the leg of its chamfer; is a unit off?");
    }
}

/// What is wrong with a fact, and what to write instead.
type Fault = (String, String);

/// Reads the value of a fact. `unit` is the unit for the example in an error, where it is not the usual one.
pub(super) fn value(
    key: &str,
    kind: FactKind,
    text: &str,
    unit: Option<&str>,
) -> Result<Value, Fault> {
    let (dimension, least) = match kind {
        FactKind::Text | FactKind::Lengths => return Ok(Value::Word(text.to_owned())),
        FactKind::Words(words) => {
            return if words.contains(&text) {
                Ok(Value::Word(text.to_owned()))
            } else {
                Err((
                    format!("`{key}` cannot be `{text}`"),
                    format!("write one of: {}", words.join(", ")),
                ))
            };
        }
        FactKind::Above(d) => (d, Some(false)),
        FactKind::FromNought(d) => (d, Some(true)),
        FactKind::Any(d) => (d, None),
    };
    let unit = unit
        .and_then(Unit::find)
        .or_else(|| Unit::usual(dimension, UnitSystem::Mm))
        .ok_or_else(|| (format!("`{key}` has no unit"), String::new()))?;
    let typed = quantity(text, &unit, DecimalMark::Point).map_err(|e| {
        (
            format!("`{key}`: {e}"),
            format!(
                "write the number with its unit, such as `{}: 12 {}`",
                key, unit.symbol
            ),
        )
    })?;
    if typed.bare && !typed.quantity.amount.is_zero() {
        return Err((
            format!("`{key}` needs its unit"),
            format!("write for instance `{}: {text} {}`", key, unit.symbol),
        ));
    }
    let q = typed.quantity;
    match least {
        Some(false) if q.amount.is_zero() || q.amount.is_negative() => Err((
            format!("`{key}` must be above zero"),
            "write the value as measured".to_owned(),
        )),
        Some(true) if q.amount.is_negative() => Err((
            format!("`{key}` must not be below zero"),
            "write the value as measured".to_owned(),
        )),
        _ => Ok(Value::Quantity(q)),
    }
}
