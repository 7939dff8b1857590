//! The events of the list of people, in the form in which they are stored. Names and fields are only ever added.

use super::person::{Initials, Person};
use super::practice::{PracticeDone, PracticeRequirement};
use crate::fingerprint::Fingerprint;
use crate::keys::Key;
use crate::quantity::moment::Moment;
use serde::{Deserialize, Serialize};

/// The version stored with each event.
pub(crate) const VERSION: u32 = 4;

/// One event of the list of people.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// A person was added, with a key.
    Added {
        /// The person.
        person: Person,
        /// The person's public key.
        key: String,
        /// The practice that the person has, where they may run anything alone.
        // It is left out where there is none, so the text of events signed before practice existed stays the same.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        practised: Option<PracticeDone>,
    },
    /// The data of a person was changed.
    Changed {
        /// The person's new data.
        person: Person,
        /// The practice that the person has, where they may run more alone than before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        practised: Option<PracticeDone>,
    },
    /// An owner set the practice that is required before running alone.
    Required {
        /// The requirement from now on, for every person who is allowed to run more alone than before.
        practice: PracticeRequirement,
    },
    /// A person was retired and can no longer sign.
    Retired {
        /// The person's initials.
        initials: Initials,
    },
    /// A person has a new key. The old key is no longer valid.
    KeyIssued {
        /// The person's initials.
        initials: Initials,
        /// The person's new public key.
        key: String,
    },
    /// An owner has a new recovery code, for use when the PIN is lost. The previous code is no longer valid.
    RecoveryMade {
        /// The owner's initials. The owner signs this event.
        initials: Initials,
        /// The public half of the key that the code opens.
        recovery: String,
    },
    /// An owner whose PIN was lost got a new key with the recovery code. The code's key signs this event, and the code
    /// is used up.
    Recovered {
        /// The person's initials.
        initials: Initials,
        /// The person's new public key.
        key: String,
        /// The public half of the key that the next recovery code opens.
        recovery: String,
    },
    /// A wrong PIN was typed.
    WrongPin {
        /// The initials of the key's owner.
        initials: Initials,
    },
    /// A wrong recovery code was typed.
    WrongCode {
        /// The initials of the person whose code was asked for.
        initials: Initials,
    },
    /// The clock was before the last recorded wrong PIN, so the wait for the prompt starts again from here.
    WaitRestarted {
        /// The initials of the key's owner.
        initials: Initials,
    },
    /// A key was unlocked after wrong PINs. They no longer count.
    Unlocked {
        /// The initials of the key's owner.
        initials: Initials,
    },
}

impl Event {
    /// The word that is stored next to the event's body.
    pub(crate) fn kind(&self) -> &'static str {
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

    /// Whether it is an event of a PIN prompt, which nobody signs.
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

/// An event with the owner's signature.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Signed {
    /// The event.
    pub event: Event,
    /// The initials of the owner who signed it, with their key or, for a recovery, with the key of their recovery code.
    /// `None` for an event of a PIN prompt.
    #[serde(default)]
    pub by: Option<Initials>,
    /// The owner's signature.
    #[serde(default)]
    pub signature: Option<String>,
}

impl Signed {
    /// An event that an owner signs with their key.
    pub fn by(event: Event, owner: &str, key: &Key, place: &LedgerPosition) -> Self {
        let signature = key.sign(&place.text(&event, owner));
        Self {
            event,
            by: Some(owner.to_owned()),
            signature: Some(signature),
        }
    }

    /// An event of a PIN prompt, which nobody signs.
    pub fn of_prompt(event: Event) -> Self {
        Self {
            event,
            by: None,
            signature: None,
        }
    }
}

/// The position of an event: its number in the ledger, its time and the digest of the list before it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LedgerPosition {
    /// The number of the event in the ledger, from 1.
    pub n: u32,
    /// The time of the event.
    pub at: Moment,
    /// The digest of the list before it.
    pub before: Fingerprint,
}

impl LedgerPosition {
    /// The text to sign: its kind, and one fingerprint over the position, the event and the owner.
    pub(crate) fn text(&self, event: &Event, owner: &str) -> String {
        // Serialising this data cannot fail.
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
