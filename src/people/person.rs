//! The data of a person on the list.

use crate::quantity::moment::Moment;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Initials in the stored form: one to eight letters or digits, in capitals.
pub type Initials = String;

/// The role of a person in the shop. A person can have several.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Operates the machine.
    Operator,
    /// Teaches, and signs together with a learner.
    Trainer,
    /// Is responsible for the shop and changes the list of people.
    Owner,
}

impl Role {
    /// All roles, lowest first.
    pub const ALL: [Self; 3] = [Self::Operator, Self::Trainer, Self::Owner];

    /// The word for the role.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Operator => "operator",
            Self::Trainer => "trainer",
            Self::Owner => "owner",
        }
    }

    /// The role that the word names.
    pub(crate) fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// The machines or procedures that a person may run without a second signature.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AloneScope {
    /// Everything.
    All,
    /// Only these ids.
    Only(BTreeSet<String>),
}

impl AloneScope {
    /// Whether the id is included.
    pub(crate) fn covers(&self, id: &str) -> bool {
        match self {
            Self::All => true,
            Self::Only(ids) => ids.contains(id),
        }
    }

    /// Whether nothing is included.
    pub(crate) fn is_none(&self) -> bool {
        matches!(self, Self::Only(ids) if ids.is_empty())
    }

    /// Whether it includes anything that `other` does not.
    pub(crate) fn exceeds(&self, other: &Self) -> bool {
        match (self, other) {
            (_, Self::All) => false,
            (Self::All, Self::Only(_)) => true,
            (Self::Only(ids), Self::Only(others)) => !ids.is_subset(others),
        }
    }

    /// The scope in words.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::All => "all".to_owned(),
            Self::Only(_) if self.is_none() => "none".to_owned(),
            Self::Only(ids) => ids.iter().cloned().collect::<Vec<_>>().join(", "),
        }
    }
}

/// The data of a person that an owner can change.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Person {
    /// The initials. No other person has or had them.
    pub initials: Initials,
    /// The name, if the person wants it in the record.
    #[serde(default)]
    pub name: Option<String>,
    /// The person's roles, at least one.
    pub roles: BTreeSet<Role>,
    /// The machines that the person may run alone.
    pub machines: AloneScope,
    /// The procedures that the person may run alone.
    pub procedures: AloneScope,
}

impl Person {
    /// Whether the person has the role.
    pub fn is(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// The lowest of the person's roles that is `wanted` or higher, in the order of [`Role::ALL`].
    pub(crate) fn at_least(&self, wanted: Role) -> Option<Role> {
        self.roles.range(wanted..).next().copied()
    }

    /// Whether the person may run this procedure on this machine without a second signature.
    pub(crate) fn may_run_alone(&self, machine: &str, procedure: &str) -> bool {
        self.machines.covers(machine) && self.procedures.covers(procedure)
    }
}

/// A public key, and the time during which it was valid.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KeySpan {
    /// The public key.
    pub public: String,
    /// The start of its validity.
    pub from: Moment,
    /// The end of its validity, if it was replaced or its owner retired.
    pub until: Option<Moment>,
}
