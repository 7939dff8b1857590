//! How a machine's axes move, as a group in the shop file. The running time of a program is estimated from it. A
//! machine without the group has no such estimates; a machine with it must give all required facts.

use super::facts::{Fact, FactKind};
use super::fields::{Fields, scalar};
use super::formula::Value;
use super::node::Node;
use super::shop;
use crate::diagnostics::Findings;
use crate::quantity::{Dimension, Quantity};
use std::collections::BTreeMap;

/// The group's key in a machine.
pub const KEY: &str = "motion";

const fn fact(key: &'static str, kind: FactKind) -> Fact {
    Fact {
        key,
        kind,
        optional: false,
        default: None,
    }
}

use FactKind::{Above, FromNought, Words};

/// The required facts of the group.
pub const NEEDED: &[Fact] = &[
    fact("x acceleration", Above(Dimension::ACCELERATION)),
    fact("y acceleration", Above(Dimension::ACCELERATION)),
    fact("z acceleration", Above(Dimension::ACCELERATION)),
    fact("x rapid", Above(Dimension::FEED)),
    fact("y rapid", Above(Dimension::FEED)),
    fact("z rapid", Above(Dimension::FEED)),
];

/// The optional facts of the group.
pub const OPTIONAL: &[Fact] = &[
    fact(
        "path mode",
        Words(&["continuous", "exact path", "exact stop"]),
    ),
    fact("corner tolerance", FromNought(Dimension::LENGTH)),
    fact("block time", Above(Dimension::TIME)),
    fact("tool change", FromNought(Dimension::TIME)),
    fact("spin-up", FromNought(Dimension::TIME)),
];

/// The motion facts of one machine, by key.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct MachineMotion(BTreeMap<&'static str, Value>);

impl MachineMotion {
    /// The quantity of a key, if it is given.
    pub(crate) fn quantity(&self, key: &str) -> Option<Quantity> {
        match self.0.get(key) {
            Some(Value::Quantity(q)) => Some(*q),
            _ => None,
        }
    }

    /// The word of a key, if it is given.
    pub(crate) fn word(&self, key: &str) -> Option<&str> {
        match self.0.get(key) {
            Some(Value::Word(word)) => Some(word),
            _ => None,
        }
    }
}

/// Reads the group of the machine `what`.
pub(crate) fn read(node: &Node, what: &str, findings: &mut Findings) -> Option<MachineMotion> {
    let what = format!("the motion of {what}");
    let mut fields = Fields::of(node, &what, findings)?;
    let mut found = BTreeMap::new();
    let needed = NEEDED.iter().map(|f| (f, true));
    for (fact, needed) in needed.chain(OPTIONAL.iter().map(|f| (f, false))) {
        let node = if needed {
            fields.required(fact.key, findings)
        } else {
            fields.node(fact.key, findings)
        };
        let Some(text) = node.and_then(|n| scalar(n, fact.key, findings)) else {
            continue;
        };
        // Waits in this group are in seconds. Elsewhere minutes are usual.
        let unit = match fact.kind {
            Above(d) | FromNought(d) if d == Dimension::TIME => Some("s"),
            _ => None,
        };
        match shop::value(fact.key, fact.kind, &text.text, unit) {
            Ok(value) => {
                found.insert(fact.key, value);
            }
            Err((message, help)) => {
                findings.error(text.span, message).help(help);
            }
        }
    }
    fields.finish(&[], findings);
    Some(MachineMotion(found))
}
