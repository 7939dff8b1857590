//! The list of people: what its events add up to, and whether each was rightly signed.

use super::event::{Event, LedgerPosition, Signed};
use super::person::{Initials, KeySpan, Person, Role};
use super::practice::PracticeRequirement;
use crate::fingerprint::Fingerprint;
use crate::keys;
use crate::quantity::moment::Moment;
use std::collections::BTreeMap;

/// Wrong PINs that cost no time.
const FREE: u32 = 3;
/// What the next one costs; each after it twice as much.
const FIRST_WAIT_MS: i64 = 30_000;
/// The longest wait.
const LONGEST_WAIT_MS: i64 = 3_600_000;

/// A person, their keys, and whether they still sign.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ListedPerson {
    /// Who they are.
    pub person: Person,
    /// Their keys, the present one last.
    pub keys: Vec<KeySpan>,
    /// Since when they are on the list.
    pub since: Moment,
    /// When they were retired, if they were.
    pub retired: Option<Moment>,
    /// The public half of the key that their recovery code opens, if they have one.
    pub recovery: Option<String>,
}

/// The list of people. Built by [`People::default`] and [`People::apply`] only.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct People {
    listed: BTreeMap<Initials, ListedPerson>,
    wrong: BTreeMap<Initials, WrongPins>,
    n: u32,
    /// Of every entry before the next one.
    whole: Fingerprint,
    /// Of the owners' changes alone.
    digest: Fingerprint,
    latest: Option<Moment>,
    required: Option<PracticeRequirement>,
}

#[derive(Clone, PartialEq, Eq, Debug)]
struct WrongPins {
    times: u32,
    /// The latest moment on record at the last of them: a clock set back must not shorten the wait.
    last: Moment,
}

/// What is wrong with an event on record.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Fault {
    /// Nobody signed it.
    #[error("it is not signed")]
    Unsigned,
    /// The signer was no owner then.
    #[error("it is signed by {0}, who was no owner then")]
    NoOwner(Initials),
    /// A recovery code is made and used by its owner alone.
    #[error("it is of the recovery code of {0}, and signed by {1}")]
    OtherOwner(Initials, Initials),
    /// The signature does not hold.
    #[error("the signature of {0} under it does not hold")]
    Signature(Initials),
    /// It cannot have been done then.
    #[error("it cannot have been done then: {0}")]
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
    /// Folds one event in; never fails.
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
                    // Whoever had the old PIN may have made the code.
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

    /// Whether `signed`, the next event, was rightly done: by somebody who was an owner before it, with their key of
    /// then. The first person signs themselves, a recovery is signed with the key of the recovery code.
    ///
    /// # Errors
    /// What is wrong with it.
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
                    // Nobody makes or uses the code of another.
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

    /// The place of the next event.
    pub fn place(&self, at: Moment) -> LedgerPosition {
        LedgerPosition {
            n: self.n.saturating_add(1),
            at,
            before: self.whole,
        }
    }

    /// How many events were folded.
    pub fn n(&self) -> u32 {
        self.n
    }

    /// The digest of every change an owner made: who may do what, and with which key. It leaves out what happens at a PIN
    /// prompt, so that a wrong PIN at another terminal invalidates no signature that covers this digest.
    pub fn digest(&self) -> Fingerprint {
        self.digest
    }

    /// Whether nobody was ever registered: a one-person shop with typed initials.
    pub fn is_empty(&self) -> bool {
        self.listed.is_empty()
    }

    /// Everybody ever listed, by initials.
    pub fn all(&self) -> impl Iterator<Item = &ListedPerson> {
        self.listed.values()
    }

    /// Somebody ever listed.
    pub fn find(&self, initials: &str) -> Option<&ListedPerson> {
        self.listed.get(initials)
    }

    /// Somebody who is listed and not retired.
    pub fn active(&self, initials: &str) -> Option<&ListedPerson> {
        self.find(initials).filter(|l| l.retired.is_none())
    }

    /// Owners who are not retired.
    pub fn owners(&self) -> usize {
        self.all().filter(|l| l.is_owner()).count()
    }

    /// The one owner there is; none where there are several, or nobody.
    pub fn only_owner(&self) -> Option<&ListedPerson> {
        let mut owners = self.all().filter(|l| l.is_owner());
        owners.next().filter(|_| owners.next().is_none())
    }

    /// What must have been practised before somebody is let run alone, once an owner has said so.
    pub fn required(&self) -> Option<&PracticeRequirement> {
        self.required.as_ref()
    }

    /// How long the prompt for this person's PIN stays shut at `now`, in milliseconds; none when it is open. Each wrong PIN
    /// after the third doubles the wait, up to an hour; a clock that was set back counts from the latest moment on record,
    /// so that it never shortens a wait.
    pub fn shut_for(&self, initials: &str, now: Moment) -> Option<i64> {
        let wrong = self.wrong.get(initials)?;
        let beyond = wrong.times.checked_sub(FREE)?;
        let wait = FIRST_WAIT_MS
            .saturating_mul(1_i64.checked_shl(beyond.min(20)).unwrap_or(i64::MAX))
            .min(LONGEST_WAIT_MS);
        let gone = now.since(wrong.last).unwrap_or(0);
        (gone < wait).then_some(wait - gone)
    }

    /// Whether the prompt is shut by a wrong PIN that is dated after `now`: by then nobody can say how long it was shut.
    pub fn wait_is_ahead(&self, initials: &str, now: Moment) -> bool {
        let ahead = |wrong: &WrongPins| wrong.times >= FREE && wrong.last > now;
        self.wrong.get(initials).is_some_and(ahead)
    }

    /// Whether wrong PINs or recovery codes stand against the person.
    pub fn has_wrong_pins(&self, initials: &str) -> bool {
        self.wrong.contains_key(initials)
    }
}

impl ListedPerson {
    /// Whether they are an owner and not retired.
    pub fn is_owner(&self) -> bool {
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
