//! The list of people: the result of applying its events, and the check that each was signed by the right person.

use super::event::{Event, LedgerPosition, Signed};
use super::person::{Initials, KeySpan, Person, Role};
use super::practice::PracticeRequirement;
use crate::fingerprint::Fingerprint;
use crate::keys;
use crate::quantity::moment::Moment;
use std::collections::BTreeMap;

/// The number of wrong PINs without a wait.
const FREE: u32 = 3;
/// The wait after the next wrong PIN, in milliseconds. Each further wrong PIN doubles it.
const FIRST_WAIT_MS: i64 = 30_000;
/// The longest wait, in milliseconds.
const LONGEST_WAIT_MS: i64 = 3_600_000;

/// A person with their keys, and whether they can still sign.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ListedPerson {
    /// The person's data.
    pub person: Person,
    /// The person's keys, the present one last.
    pub keys: Vec<KeySpan>,
    /// When the person was added to the list.
    pub since: Moment,
    /// When the person was retired; `None` if not retired.
    pub retired: Option<Moment>,
    /// The public half of the key that the recovery code opens, if there is one.
    pub recovery: Option<String>,
}

/// The list of people. Built by [`People::default`] and [`People::apply`] only.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct People {
    listed: BTreeMap<Initials, ListedPerson>,
    wrong: BTreeMap<Initials, WrongPins>,
    n: u32,
    /// The digest of all entries so far.
    whole: Fingerprint,
    /// The digest of the owners' changes only.
    digest: Fingerprint,
    latest: Option<Moment>,
    required: Option<PracticeRequirement>,
}

#[derive(Clone, PartialEq, Eq, Debug)]
struct WrongPins {
    times: u32,
    /// The latest recorded time at the last wrong PIN. A clock that is set back must not shorten the wait.
    last: Moment,
}

/// What is wrong with a recorded event.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Fault {
    /// The event has no signature.
    #[error("it is not signed")]
    Unsigned,
    /// The signer was not an owner at that time.
    #[error("it is signed by {0}, who was not an owner at that time")]
    NoOwner(Initials),
    /// Only its owner may make and use a recovery code.
    #[error("it concerns the recovery code of {0}, but is signed by {1}")]
    OtherOwner(Initials, Initials),
    /// The signature is not valid.
    #[error("the signature of {0} is not valid")]
    Signature(Initials),
    /// The change was not possible at that time.
    #[error("it was not possible at that time: {0}")]
    Cannot(String),
}

impl Default for People {
    fn default() -> Self {
        Self {
            listed: BTreeMap::new(),
            wrong: BTreeMap::new(),
            n: 0,
            whole: Fingerprint::NONE,
            digest: Fingerprint::NONE,
            latest: None,
            required: None,
        }
    }
}

impl People {
    /// Applies one event. It never fails and never validates.
    pub fn apply(&mut self, at: Moment, signed: &Signed) {
        self.n = self.n.saturating_add(1);
        let latest = self.latest.map_or(at, |latest| latest.max(at));
        self.latest = Some(latest);
        let body = serde_json::to_string(signed).unwrap_or_default();
        self.whole = Fingerprint::builder()
            .field("skimgate people state 1")
            .field(self.whole.to_string())
            .field(self.n.to_string())
            .field(at.to_string())
            .field(&body)
            .finish();
        if !signed.event.is_of_prompt() {
            self.digest = Fingerprint::builder()
                .field("skimgate people rights 1")
                .field(self.digest.to_string())
                .field(at.to_string())
                .field(&body)
                .finish();
        }
        let new_key = |public: &str| KeySpan {
            public: public.to_owned(),
            from: at,
            until: None,
        };
        match &signed.event {
            Event::Added { person, key, .. } => {
                let listed = ListedPerson {
                    person: person.clone(),
                    keys: vec![new_key(key)],
                    since: at,
                    retired: None,
                    recovery: None,
                };
                self.listed.insert(person.initials.clone(), listed);
            }
            Event::Changed { person, .. } => {
                if let Some(listed) = self.listed.get_mut(&person.initials) {
                    listed.person = person.clone();
                    if !person.is(Role::Owner) {
                        listed.recovery = None;
                    }
                }
            }
            Event::Required { practice } => self.required = Some(practice.clone()),
            Event::Retired { initials } => {
                if let Some(listed) = self.listed.get_mut(initials) {
                    listed.retired = Some(at);
                    listed.end_key(at);
                    listed.recovery = None;
                }
            }
            Event::KeyIssued { initials, key } => {
                self.wrong.remove(initials);
                if let Some(listed) = self.listed.get_mut(initials) {
                    listed.end_key(at);
                    listed.keys.push(new_key(key));
                    // Somebody who had the old PIN may have made the code.
                    listed.recovery = None;
                }
            }
            Event::RecoveryMade { initials, recovery } => {
                if let Some(listed) = self.listed.get_mut(initials) {
                    listed.recovery = Some(recovery.clone());
                }
            }
            Event::Recovered {
                initials,
                key,
                recovery,
            } => {
                self.wrong.remove(initials);
                if let Some(listed) = self.listed.get_mut(initials) {
                    listed.end_key(at);
                    listed.keys.push(new_key(key));
                    listed.recovery = Some(recovery.clone());
                }
            }
            Event::WrongPin { initials } | Event::WrongCode { initials } => {
                let wrong = self.wrong.entry(initials.clone()).or_insert(WrongPins {
                    times: 0,
                    last: latest,
                });
                wrong.times = wrong.times.saturating_add(1);
                wrong.last = latest;
            }
            Event::WaitRestarted { initials } => {
                self.latest = Some(at);
                if let Some(wrong) = self.wrong.get_mut(initials) {
                    wrong.last = at;
                }
            }
            Event::Unlocked { initials } => {
                self.wrong.remove(initials);
            }
        }
    }

    /// Checks that `signed`, the next event, was signed by a person who was an owner before it, with their key at that
    /// time. The first person signs their own entry. A recovery is signed with the key of the recovery code.
    ///
    /// # Errors
    /// The [`Fault`] that says what is wrong.
    pub fn check(&self, at: Moment, signed: &Signed) -> Result<(), Fault> {
        if signed.event.is_of_prompt() {
            return Ok(());
        }
        self.possible(&signed.event)
            .map_err(|refusal| Fault::Cannot(refusal.to_string()))?;
        let (Some(by), Some(signature)) = (&signed.by, &signed.signature) else {
            return Err(Fault::Unsigned);
        };
        let public = match &signed.event {
            Event::Added { person, key, .. } if self.is_empty() && person.initials == *by => key,
            _ => match self.active(by).filter(|l| l.person.is(Role::Owner)) {
                Some(owner) => match &signed.event {
                    // Nobody may make or use another person's code.
                    Event::RecoveryMade { initials, .. } | Event::Recovered { initials, .. }
                        if initials != by =>
                    {
                        return Err(Fault::OtherOwner(initials.clone(), by.clone()));
                    }
                    Event::Recovered { .. } => owner.recovery.as_deref().unwrap_or_default(),
                    _ => owner.key().unwrap_or_default(),
                },
                None => return Err(Fault::NoOwner(by.clone())),
            },
        };
        let text = self.place(at).text(&signed.event, by);
        if keys::holds(public, &text, signature) {
            Ok(())
        } else {
            Err(Fault::Signature(by.clone()))
        }
    }

    /// The position of the next event.
    pub fn place(&self, at: Moment) -> LedgerPosition {
        LedgerPosition {
            n: self.n.saturating_add(1),
            at,
            before: self.whole,
        }
    }

    /// The number of events applied so far.
    pub(crate) fn n(&self) -> u32 {
        self.n
    }

    /// The digest of every change by an owner: who may do what, and with which key. It does not include events of a PIN
    /// prompt, so a wrong PIN at another terminal does not invalidate a signature that covers this digest.
    pub fn digest(&self) -> Fingerprint {
        self.digest
    }

    /// Whether nobody was ever registered. Then the shop signs with typed initials.
    pub fn is_empty(&self) -> bool {
        self.listed.is_empty()
    }

    /// Everybody who was ever listed, sorted by initials.
    pub fn all(&self) -> impl Iterator<Item = &ListedPerson> {
        self.listed.values()
    }

    /// The person with these initials, retired or not.
    pub(crate) fn find(&self, initials: &str) -> Option<&ListedPerson> {
        self.listed.get(initials)
    }

    /// The person with these initials, if not retired.
    pub fn active(&self, initials: &str) -> Option<&ListedPerson> {
        self.find(initials).filter(|l| l.retired.is_none())
    }

    /// The number of owners who are not retired.
    pub fn owners(&self) -> usize {
        self.all().filter(|l| l.is_owner()).count()
    }

    /// The only owner; `None` where there are several, or none.
    pub(crate) fn only_owner(&self) -> Option<&ListedPerson> {
        let mut owners = self.all().filter(|l| l.is_owner());
        owners.next().filter(|_| owners.next().is_none())
    }

    /// The practice that is required before running alone; `None` until an owner has set it.
    pub(crate) fn required(&self) -> Option<&PracticeRequirement> {
        self.required.as_ref()
    }

    /// How long the prompt for this person's PIN remains blocked at `now`, in milliseconds; `None` when it is open.
    /// Each wrong PIN after the third doubles the wait, up to an hour. If the clock was set back, the wait counts from
    /// the latest recorded time, so it never gets shorter.
    pub fn shut_for(&self, initials: &str, now: Moment) -> Option<i64> {
        let wrong = self.wrong.get(initials)?;
        let beyond = wrong.times.checked_sub(FREE)?;
        let wait = FIRST_WAIT_MS
            .saturating_mul(1_i64.checked_shl(beyond.min(20)).unwrap_or(i64::MAX))
            .min(LONGEST_WAIT_MS);
        let gone = now.since(wrong.last).unwrap_or(0);
        (gone < wait).then_some(wait - gone)
    }

    /// Whether a wrong PIN dated after `now` blocks the prompt. Then it is not known how long the wait should still be.
    pub(crate) fn wait_is_ahead(&self, initials: &str, now: Moment) -> bool {
        let ahead = |wrong: &WrongPins| wrong.times >= FREE && wrong.last > now;
        self.wrong.get(initials).is_some_and(ahead)
    }

    /// Whether wrong PINs or recovery codes count against the person.
    pub(crate) fn has_wrong_pins(&self, initials: &str) -> bool {
        self.wrong.contains_key(initials)
    }
}

impl ListedPerson {
    /// Whether the person is an owner and not retired.
    pub(crate) fn is_owner(&self) -> bool {
        self.retired.is_none() && self.person.is(Role::Owner)
    }

    /// The present public key.
    pub fn key(&self) -> Option<&str> {
        let last = self.keys.last().filter(|k| k.until.is_none());
        last.map(|k| k.public.as_str())
    }

    fn end_key(&mut self, at: Moment) {
        if let Some(last) = self.keys.last_mut() {
            last.until.get_or_insert(at);
        }
    }
}
