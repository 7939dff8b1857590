//! A person as the list has them.

use crate::quantity::moment::Moment;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Initials as they are kept: one to eight letters or digits, in capitals.
pub type Initials = String;

/// What somebody is in the shop. One person can be several.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Works the machine.
    Operator,
    /// Teaches, and signs beside a learner.
    Trainer,
    /// Answers for the shop: keeps the list of people.
    Owner,
}

impl Role {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Operator, Self::Trainer, Self::Owner];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Operator => "operator",
            Self::Trainer => "trainer",
            Self::Owner => "owner",
        }
    }

    /// The role of that word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// What somebody may run without a second signature.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AloneScope {
    /// Everything.
    All,
    /// These ids only.
    Only(BTreeSet<String>),
}

impl AloneScope {
    /// Whether it covers the id.
    pub fn covers(&self, id: &str) -> bool {
        match self {
            Self::All => true,
            Self::Only(ids) => ids.contains(id),
        }
    }

    /// Whether it covers nothing.
    pub fn is_none(&self) -> bool {
        matches!(self, Self::Only(ids) if ids.is_empty())
    }

    /// Whether it covers anything that the other does not.
    pub fn exceeds(&self, other: &Self) -> bool {
        match (self, other) {
            (_, Self::All) => false,
            (Self::All, Self::Only(_)) => true,
            (Self::Only(ids), Self::Only(others)) => !ids.is_subset(others),
        }
    }

    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::All => "all".to_owned(),
            Self::Only(_) if self.is_none() => "none".to_owned(),
            Self::Only(ids) => ids.iter().cloned().collect::<Vec<_>>().join(", "),
        }
    }
}

/// What can be changed of a person.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Person {
    /// Initials; nobody else has or had them.
    pub initials: Initials,
    /// The name, where it is wanted on the record.
    #[serde(default)]
    pub name: Option<String>,
    /// Their roles; at least one.
    pub roles: BTreeSet<Role>,
    /// The machines they may run alone.
    pub machines: AloneScope,
    /// The procedures they may run alone.
    pub procedures: AloneScope,
}

impl Person {
    /// Whether they have the role.
    pub fn is(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// The least of their roles that is at least this one, in the order of [`Role::ALL`].
    pub fn at_least(&self, wanted: Role) -> Option<Role> {
        self.roles.range(wanted..).next().copied()
    }

    /// Whether they may run this procedure on this machine without a second signature.
    pub fn may_run_alone(&self, machine: &str, procedure: &str) -> bool {
        self.machines.covers(machine) && self.procedures.covers(procedure)
    }
}

/// A public key and from when to when it was somebody's.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KeySpan {
    /// The public key.
    pub public: String,
    /// Since when.
    pub from: Moment,
    /// Until when, if it was replaced or its owner retired.
    pub until: Option<Moment>,
}
