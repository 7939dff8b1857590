//! What happened to the list of people, in the words it is stored in. Only ever added to.

use super::person::{Initials, Person};
use super::practice::{PracticeDone, PracticeRequirement};
use crate::fingerprint::Fingerprint;
use crate::keys::Key;
use crate::quantity::moment::Moment;
use serde::{Deserialize, Serialize};

/// The version written beside each stored event.
pub const VERSION: u32 = 4;

/// What happened.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// Somebody was added, with a key.
    Added {
        /// Who.
        person: Person,
        /// Their public key.
        key: String,
        /// The practice behind it, where they may run anything alone.
        // Left out where there is none: what was signed before practice was asked for reads the same.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        practised: Option<PracticeDone>,
    },
    /// What stands of a person was changed.
    Changed {
        /// As they stand now.
        person: Person,
        /// The practice behind it, where they may run more alone than before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        practised: Option<PracticeDone>,
    },
    /// How much practice goes before running alone was said.
    Required {
        /// What holds from now on, for whoever is let run more alone than before.
        practice: PracticeRequirement,
    },
    /// Somebody signs no more.
    Retired {
        /// Who.
        initials: Initials,
    },
    /// Somebody has a new key; the old one signs no more.
    KeyIssued {
        /// Who.
        initials: Initials,
        /// Their new public key.
        key: String,
    },
    /// An owner has a new recovery code, for the day when their PIN is lost; the one before opens nothing more.
    RecoveryMade {
        /// Who; they sign it themselves.
        initials: Initials,
        /// The public half of the key that the code opens.
        recovery: String,
    },
    /// An owner whose PIN was lost has a new key by their recovery code, whose key signs this. The code is spent.
    Recovered {
        /// Who.
        initials: Initials,
        /// Their new public key.
        key: String,
        /// The public half of the key that their next recovery code opens.
        recovery: String,
    },
    /// A wrong PIN was typed.
    WrongPin {
        /// For whose key.
        initials: Initials,
    },
    /// A recovery code was typed that is not the person's.
    WrongCode {
        /// Whose was asked for.
        initials: Initials,
    },
    /// The clock stood before the last wrong PIN on record, so the wait for the prompt begins anew from here.
    WaitRestarted {
        /// For whose key.
        initials: Initials,
    },
    /// A key was unlocked after wrong PINs; what they cost is forgotten.
    Unlocked {
        /// Whose.
        initials: Initials,
    },
}

impl Event {
    /// The word an event is stored under, beside its body.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Added { .. } => "added",
            Self::Changed { .. } => "changed",
            Self::Required { .. } => "required",
            Self::Retired { .. } => "retired",
            Self::KeyIssued { .. } => "key_issued",
            Self::RecoveryMade { .. } => "recovery_made",
            Self::Recovered { .. } => "recovered",
            Self::WrongPin { .. } => "wrong_pin",
            Self::WrongCode { .. } => "wrong_code",
            Self::WaitRestarted { .. } => "wait_restarted",
            Self::Unlocked { .. } => "unlocked",
        }
    }

    /// Whose prompt it happened at, for what nobody signs.
    pub fn is_of_prompt(&self) -> bool {
        matches!(
            self,
            Self::WrongPin { .. }
                | Self::WrongCode { .. }
                | Self::WaitRestarted { .. }
                | Self::Unlocked { .. }
        )
    }
}

/// An event and the owner's signature under it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Signed {
    /// What happened.
    pub event: Event,
    /// The owner who did it, with their key or, where they recover, with that of their recovery code; nobody for what happens at the prompt.
    #[serde(default)]
    pub by: Option<Initials>,
    /// Their signature.
    #[serde(default)]
    pub signature: Option<String>,
}

impl Signed {
    /// What is done by an owner, with their key.
    pub fn by(event: Event, owner: &str, key: &Key, place: &LedgerPosition) -> Self {
        let signature = key.sign(&place.text(&event, owner));
        Self {
            event,
            by: Some(owner.to_owned()),
            signature: Some(signature),
        }
    }

    /// What nobody signs.
    pub fn of_prompt(event: Event) -> Self {
        Self {
            event,
            by: None,
            signature: None,
        }
    }
}

/// Where an event goes: its number in the ledger, its moment and the state before it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LedgerPosition {
    /// Its number.
    pub n: u32,
    /// When.
    pub at: Moment,
    /// The digest of the list before it.
    pub before: Fingerprint,
}

impl LedgerPosition {
    /// The text that is signed: what it is, and the fingerprint of everything about it.
    pub fn text(&self, event: &Event, owner: &str) -> String {
        // Plain data; writing it cannot fail.
        let body = serde_json::to_string(event).unwrap_or_default();
        let whole = Fingerprint::builder()
            .field("skimgate people 1")
            .field(self.n.to_string())
            .field(self.at.to_string())
            .field(self.before.to_string())
            .field(owner)
            .field(body)
            .finish();
        format!("skimgate people 1\n{whole}")
    }
}
