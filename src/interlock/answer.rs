//! The answers that a run records.

use super::examined::Examined;
use crate::fingerprint::Fingerprint;
use crate::people::Role;
use crate::procedure::formula::Value;
use crate::procedure::formula::value::Touches;
use crate::program::active::{ActiveCodes, ActiveGroup};
use crate::quantity::{Length, Quantity};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// An answer as it is recorded. No floating point anywhere.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// The word for a state, a choice or an outcome.
    Word(String),
    /// Free text.
    Text(String),
    /// A number that was read or computed.
    Quantity(Quantity),
    /// A finished series of touches.
    Touched(TouchResult),
    /// A value for the control and what the control then showed.
    Entered {
        /// The value to type.
        value: Quantity,
        /// The read-back.
        read_back: Quantity,
    },
    /// A file, identified by its bytes.
    File {
        /// The path as typed.
        path: String,
        /// Fingerprint of its bytes.
        fingerprint: Fingerprint,
        /// Its size.
        bytes: u64,
        /// The result of its examination, where it was examined.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        examined: Option<Box<Examined>>,
    },
    /// The active codes of the control.
    Codes(CodesRead),
    /// A sign-off over the digest of the state.
    Signed {
        /// The signer's initials as typed.
        initials: String,
        /// What was signed.
        digest: Fingerprint,
        /// How the sign-off was given.
        means: SigningMethod,
        /// The signature, where a key was used.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        proof: Option<Proof>,
        /// The second signature, where there is one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        second: Option<SecondSignature>,
        /// The digest of the list of people at that time, where people are registered. It is part of the signed text.
        /// Records before version 5 have none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        list: Option<Fingerprint>,
    },
}

/// The active codes of a control, as they were typed and as they were read.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct CodesRead {
    /// The lines as they were typed.
    pub typed: Vec<String>,
    /// The value of each group, by the group's word.
    pub read: BTreeMap<String, String>,
    /// Words that were not known, as they were typed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unknown: Vec<String>,
    /// What was accepted with a reason while groups were still open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<AcceptedCode>,
}

/// Something about active codes that was accepted with a reason.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct AcceptedCode {
    /// What was accepted, in words.
    pub limit: String,
    /// The reason.
    pub reason: String,
}

impl CodesRead {
    /// The value of a group, if it is known.
    pub fn of(&self, group: ActiveGroup) -> Option<&str> {
        self.read.get(group.word()).map(String::as_str)
    }

    /// The number of the length offset that is in effect, 0 for none; `None` where it is not known.
    pub(super) fn effective_h(&self) -> Option<u32> {
        if self.of(ActiveGroup::LengthOffset) == Some("G49") {
            return Some(0);
        }
        self.of(ActiveGroup::H)?.parse().ok()
    }

    /// The same with another line, whose values replace earlier ones of the same groups.
    #[must_use]
    pub fn with(&self, typed: &str, line: &ActiveCodes) -> Self {
        let mut all = self.clone();
        all.typed.push(typed.to_owned());
        for (group, value) in &line.groups {
            // Another way of applying the length offset is no longer that of the number before.
            if *group == ActiveGroup::LengthOffset {
                all.read.remove(ActiveGroup::H.word());
            }
            all.read.insert(group.word().to_owned(), value.clone());
        }
        all.read.extend(
            line.groups
                .get(&ActiveGroup::H)
                .map(|h| (ActiveGroup::H.word().to_owned(), h.clone())),
        );
        for word in &line.unknown {
            if !all.unknown.contains(word) {
                all.unknown.push(word.clone());
            }
        }
        all
    }

    /// Whether both say the same of the control, however they were typed.
    pub fn means(&self, other: &Self) -> bool {
        self.read == other.read && self.unknown == other.unknown
    }
}

/// A signature and the key it was made with.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Proof {
    /// The public key.
    pub key: String,
    /// The signature over [`super::state::State::text_to_sign`].
    pub signature: String,
    /// The role in which its owner signed. It is part of the signed text. Older records have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub role: Option<Role>,
}

impl Proof {
    /// The word for the role in which its owner signed.
    pub fn signs_as(&self) -> Option<&'static str> {
        self.role.map(Role::word)
    }
}

/// A second signature, in addition to the operator's.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct SecondSignature {
    /// The initials of the second signer.
    pub initials: String,
    /// The second signer's signature and key.
    pub proof: Proof,
}

/// How a sign-off was given.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SigningMethod {
    /// Initials typed at a terminal, with a code that the terminal showed at that moment.
    TypedWithCode,
    /// Read from an answers file: nobody was at the prompt.
    AnswersFile,
    /// A registered person's key, unlocked with their PIN, after the code was typed.
    Key,
}

/// Where an answer came from.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// A person at a terminal.
    Terminal,
    /// An answers file: nobody is at the machine.
    AnswersFile,
    /// A demonstration on the practice mill.
    Demonstration,
    /// The examination of the program, which nobody typed.
    Program,
}

impl Origin {
    /// The word for this origin.
    pub fn word(self) -> &'static str {
        match self {
            Self::Terminal => "terminal",
            Self::AnswersFile => "answers file",
            Self::Demonstration => "demonstration",
            Self::Program => "program",
        }
    }
}

/// The result of a finished series of touches.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TouchResult {
    /// Height of each point above the run's first touch, in the order of touching.
    pub heights: Vec<(String, Length)>,
    /// The closing height of the first point minus its first height.
    pub drift: Option<Length>,
    /// The standard deviation of one touch, from repeated touches.
    pub repeatability: Option<Length>,
    /// The height of the last point minus the height known of it before; `None` where none was known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved: Option<Length>,
}

impl TouchResult {
    fn summary(&self) -> Option<Touches> {
        let heights = || self.heights.iter().map(|(_, h)| *h);
        Some(Touches {
            points: u32::try_from(self.heights.len()).ok()?,
            lowest: heights().min()?,
            highest: heights().max()?,
            drift: self.drift.unwrap_or(Length::ZERO),
            repeatability: self.repeatability.unwrap_or(Length::ZERO),
            moved: self.moved.unwrap_or(Length::ZERO),
        })
    }
}

impl Answer {
    /// The answer as a value in formulas; `None` where formulas cannot use it.
    pub(crate) fn value(&self) -> Option<Value> {
        match self {
            Self::Word(word) => Some(Value::Word(word.clone())),
            Self::Quantity(q) => Some(Value::Quantity(*q)),
            Self::Entered { value, .. } => Some(Value::Quantity(*value)),
            Self::Touched(touched) => touched.summary().map(Value::Touches),
            Self::Text(_) | Self::File { .. } | Self::Codes(_) | Self::Signed { .. } => None,
        }
    }

    /// Whether it says the same as another answer. Codes may be typed in another order.
    pub fn says_the_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Codes(a), Self::Codes(b)) => a.means(b),
            (a, b) => a == b,
        }
    }

    /// The active codes, if it is that.
    pub fn codes(&self) -> Option<&CodesRead> {
        match self {
            Self::Codes(codes) => Some(codes),
            _ => None,
        }
    }

    /// The word answered, if it is one.
    pub fn word(&self) -> Option<&str> {
        match self {
            Self::Word(word) => Some(word),
            _ => None,
        }
    }
}
