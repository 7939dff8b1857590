//! Whether a sign-off is valid: who must give it, with which key, and what it must cover.
//!
//! The same rules are used three times: when somebody signs, when the gate checks, and when a record is verified. The
//! caller passes the list of people: as it is now for the first two, as it was at that time for the third.

use super::answer::{Answer, Proof, SigningMethod};
use super::instance::Instance;
use super::state::State;
use crate::fingerprint::Fingerprint;
use crate::keys;
use crate::people::{People, Role};
use crate::procedure::Kind;
use crate::procedure::model::SecondSigner;

/// Why a sign-off is not valid.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum SignFault {
    /// People are registered, but this sign-off has no key.
    #[error(
        "people are registered, so it is signed with a key, and this was by typed initials or an answers file"
    )]
    NoKey,
    /// Nobody is registered, so no key can be valid.
    #[error("it has a key, but nobody was registered")]
    NobodyListed,
    /// A signer is not on the list or is retired.
    #[error("{0} is not on the list of people, or is retired")]
    NotListed(String),
    /// The key does not belong to that person.
    #[error("the key does not belong to {0}")]
    OtherKey(String),
    /// The signature does not match the text.
    #[error("the signature of {0} is not valid for this state")]
    Broken(String),
    /// A second signer is needed.
    #[error("{0} may not run this alone: a trainer or an owner must sign too")]
    SecondNeeded(String),
    /// The second signer is the same person as the first.
    #[error("the second signer must be another person than {0}")]
    SamePerson(String),
    /// The hold point asks for a second signer.
    #[error("this hold point asks for a second signature, by {}", second_signers(*.0))]
    SecondAsked(Role),
    /// The hold point asks for a second signer, but nobody is registered who could be one.
    #[error(
        "this hold point asks for a second signature, by {}, and nobody is registered: `skimgate people add` begins the list", second_signers(*.0)
    )]
    SecondUnknown(Role),
    /// The second signer does not have the required role.
    #[error("{0} cannot be the second signer here: it must be {least}", least = second_signers(*.1))]
    SecondRole(String, Role),
    /// A signer used a role that the person does not have.
    #[error("{0} signed as {role}, but does not have that role", role = .1.word())]
    NotInRole(String, Role),
    /// The hold point needs another role than the operator has.
    #[error("{0} cannot sign here: this hold point must be signed by {least}", least = signer(*.1))]
    NotOfRole(String, Role),
    /// The hold point needs a role, but nobody is registered who could have it.
    #[error(
        "this hold point must be signed by {}, and nobody is registered: `skimgate people add` begins the list", signer(*.0)
    )]
    RoleUnlisted(Role),
    /// The procedure names a role that nobody can have.
    #[error("the procedure says that `{0}` signs it, but that is no role")]
    NoRole(String),
    /// The signature does not cover the list of people.
    #[error("it does not cover the list of people of that time")]
    NoList,
    /// It covers another list of people than the recorded one.
    #[error(
        "it covers another list of people than the one recorded at that time: an entry of the list was removed, added or changed"
    )]
    OtherList,
    /// It is signed by a person who is not the run's operator.
    #[error("it is signed by {0}, who is not the operator of the run")]
    NotOperator(String),
    /// Only an owner may take a run over.
    #[error("{0} is no owner, and only an owner may take a run over")]
    NoOwner(String),
    /// Only a trainer or an owner may put a machine back in service.
    #[error("{0} is neither trainer nor owner, and only they may put a machine back in service")]
    PutsNothingBack(String),
    /// It covers another state.
    #[error("it was signed for another state of the run")]
    OtherState,
}

/// Who may be the second signer if `least` is the lowest role that may, in words.
pub(crate) fn second_signers(least: Role) -> &'static str {
    match least {
        Role::Operator => "another person on the list of people",
        Role::Trainer => "a trainer or an owner",
        Role::Owner => "an owner",
    }
}

/// Who may sign a hold point if `least` is the lowest role that may, in words.
pub(crate) fn signer(least: Role) -> &'static str {
    match least {
        Role::Operator => "anybody on the list of people",
        Role::Trainer => "a trainer or an owner",
        Role::Owner => "an owner",
    }
}

/// The rules that a sign-off is checked by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Rules {
    /// The rules of this version.
    Now,
    /// The rules before version 5: the role of the hold point was not enforced, and the list of people was not covered.
    Older,
}

/// Which of the two signatures it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SignatureRole {
    /// The operator's signature.
    First,
    /// The second signer's signature.
    Second,
}

impl State {
    /// The text to sign: its kind, and one fingerprint over the run, step, role of the hold point, meaning, signer,
    /// role in which they sign, which of the two signatures it is, the digest of the state and the digest of the list
    /// of people.
    pub fn text_to_sign(
        &self,
        at: &Instance,
        part: SignatureRole,
        initials: &str,
        signs_as: Option<Role>,
        digest: Fingerprint,
        list: Option<Fingerprint>,
    ) -> String {
        let (role, states) =
            if let Some(Kind::Sign { role, states, .. }) = self.step(at).map(|s| &s.kind) {
                (role.as_str(), states.as_str())
            } else {
                ("", "")
            };
        let mut whole = Fingerprint::builder()
            .field("skimgate sign-off 1")
            .field(&self.begun.run)
            .field(at.to_string())
            .field(role)
            .field(states)
            .field(match part {
                SignatureRole::First => "first",
                SignatureRole::Second => "second",
            })
            .field(initials)
            .field(digest.to_string());
        if let Some(role) = signs_as {
            whole = whole.field("as").field(role.word());
        }
        if let Some(list) = list {
            whole = whole.field("list").field(list.to_string());
        }
        format!("skimgate sign-off 1\n{}", whole.finish())
    }

    /// The role in which a person signs: the operator in the lowest role they have, the second signer in the lowest of
    /// theirs that is enough.
    pub fn signs_as(
        &self,
        at: &Instance,
        part: SignatureRole,
        initials: &str,
        people: &People,
    ) -> Option<Role> {
        let least = match part {
            SignatureRole::First => self.required_role(at).ok(),
            SignatureRole::Second => self.second_signer_required(at, &self.operator, people),
        };
        let person = &people.active(initials)?.person;
        person.at_least(least.unwrap_or(Role::Operator))
    }

    /// The lowest role that the second signer at `at` must have, where `initials` signs first; `None` where no second
    /// signer is needed. A rehearsal has no people and ignores what the hold point asks for.
    pub(crate) fn second_signer_required(
        &self,
        at: &Instance,
        initials: &str,
        people: &People,
    ) -> Option<Role> {
        let learner = self.needs_second(initials, people).then_some(Role::Trainer);
        learner.max(self.second_signer_of_step(at))
    }

    fn second_signer_of_step(&self, at: &Instance) -> Option<Role> {
        if self.begun.rehearsal {
            return None;
        }
        let Some(Kind::Sign { second, .. }) = self.step(at).map(|s| &s.kind) else {
            return None;
        };
        second.map(|second| match second {
            SecondSigner::Operator => Role::Operator,
            SecondSigner::Trainer => Role::Trainer,
            SecondSigner::Owner => Role::Owner,
        })
    }

    /// The lowest role that may sign at `at`. A rehearsal has no people and needs none.
    fn required_role(&self, at: &Instance) -> Result<Role, SignFault> {
        if let Some(Kind::Sign { role, .. }) = self.step(at).map(|s| &s.kind)
            && !self.begun.rehearsal
        {
            Role::from_word(role).ok_or_else(|| SignFault::NoRole(role.clone()))
        } else {
            Ok(Role::Operator)
        }
    }

    /// Checks that a person has the role that the hold point needs.
    ///
    /// # Errors
    /// The [`SignFault`] that says why not.
    pub(crate) fn check_role(
        &self,
        at: &Instance,
        who: &str,
        people: &People,
    ) -> Result<(), SignFault> {
        let least = self.required_role(at)?;
        if people.is_empty() {
            return if least > Role::Operator {
                Err(SignFault::RoleUnlisted(least))
            } else {
                Ok(())
            };
        }
        let listed = people
            .active(who)
            .ok_or_else(|| SignFault::NotListed(who.to_owned()))?;
        match listed.person.at_least(least) {
            Some(_) => Ok(()),
            None => Err(SignFault::NotOfRole(who.to_owned(), least)),
        }
    }

    /// The text that an owner signs to take the run over: its kind, the run, the present operator, the owner, the time
    /// of the last event, and the digests of all answers and of the list of people.
    pub fn text_to_take_over(&self, by: &str, list: Option<Fingerprint>) -> String {
        // No instance has this name, so nothing comes after it and the digest covers everything.
        let nowhere = Instance::new("", None);
        let mut whole = Fingerprint::builder()
            .field("skimgate taking over 1")
            .field(&self.begun.run)
            .field(&self.operator)
            .field(by)
            .field(self.latest.to_string())
            .field(self.digest_before(&nowhere).to_string());
        if let Some(list) = list {
            whole = whole.field("list").field(list.to_string());
        }
        format!("skimgate taking over 1\n{}", whole.finish())
    }

    /// Checks that the run is taken over by an owner with the owner's key, according to the list `people`.
    ///
    /// # Errors
    /// The [`SignFault`] that says why not.
    pub(crate) fn check_taken_over(
        &self,
        by: &str,
        proof: &Proof,
        list: Option<Fingerprint>,
        people: &People,
    ) -> Result<(), SignFault> {
        let owner = people
            .active(by)
            .filter(|l| l.person.is(Role::Owner))
            .ok_or_else(|| SignFault::NoOwner(by.to_owned()))?;
        if owner.key() != Some(proof.key.as_str()) {
            return Err(SignFault::OtherKey(by.to_owned()));
        }
        if keys::holds(
            &proof.key,
            &self.text_to_take_over(by, list),
            &proof.signature,
        ) {
            Ok(())
        } else {
            Err(SignFault::Broken(by.to_owned()))
        }
    }

    /// Whether a second signer is needed because this person may not run this machine or this procedure alone.
    pub(crate) fn needs_second(&self, initials: &str, people: &People) -> bool {
        let b = &self.begun;
        people
            .active(initials)
            .is_some_and(|l| !l.person.may_run_alone(&b.machine, &b.procedure_id))
    }

    /// Checks that `answer`, where it is or must be signed with a key, is a valid sign-off of `at` over the state
    /// before it, according to the list `people`.
    ///
    /// # Errors
    /// The [`SignFault`] that says why not.
    pub(crate) fn check_signed(
        &self,
        at: &Instance,
        answer: &Answer,
        people: &People,
    ) -> Result<(), SignFault> {
        self.check_signed_by(at, answer, people, Rules::Now)
    }

    /// As [`Self::check_signed`], for a recorded sign-off. `people` is the list at the time of recording, and the
    /// sign-off must cover exactly this list.
    ///
    /// # Errors
    /// The [`SignFault`] that says why not.
    pub(crate) fn check_recorded(
        &self,
        at: &Instance,
        answer: &Answer,
        people: &People,
        rules: Rules,
    ) -> Result<(), SignFault> {
        self.check_signed_by(at, answer, people, rules)?;
        match answer {
            Answer::Signed {
                list: Some(list), ..
            } if *list != people.digest() => Err(SignFault::OtherList),
            _ => Ok(()),
        }
    }

    fn check_signed_by(
        &self,
        at: &Instance,
        answer: &Answer,
        people: &People,
        rules: Rules,
    ) -> Result<(), SignFault> {
        let Answer::Signed {
            initials,
            digest,
            means,
            proof,
            second,
            list,
        } = answer
        else {
            return Ok(());
        };
        if people.is_empty() {
            let bears_key = *means == SigningMethod::Key || proof.is_some() || second.is_some();
            return match self.second_signer_of_step(at) {
                _ if bears_key => Err(SignFault::NobodyListed),
                Some(role) => Err(SignFault::SecondUnknown(role)),
                None if rules == Rules::Older => Ok(()),
                None => self.check_role(at, initials, people),
            };
        }
        if *initials != self.operator {
            return Err(SignFault::NotOperator(initials.clone()));
        }
        if *digest != self.digest_before(at) {
            return Err(SignFault::OtherState);
        }
        let (SigningMethod::Key, Some(proof)) = (means, proof) else {
            return Err(SignFault::NoKey);
        };
        let holds = |part, who: &str, proof: &Proof| {
            let listed = people
                .active(who)
                .ok_or_else(|| SignFault::NotListed(who.to_owned()))?;
            if listed.key() != Some(proof.key.as_str()) {
                return Err(SignFault::OtherKey(who.to_owned()));
            }
            if let Some(role) = proof.role.filter(|r| !listed.person.is(*r)) {
                return Err(SignFault::NotInRole(who.to_owned(), role));
            }
            let text = self.text_to_sign(at, part, who, proof.role, *digest, *list);
            if keys::holds(&proof.key, &text, &proof.signature) {
                Ok(listed)
            } else {
                Err(SignFault::Broken(who.to_owned()))
            }
        };
        if rules == Rules::Now {
            if list.is_none() {
                return Err(SignFault::NoList);
            }
            let least = self.required_role(at)?;
            self.check_role(at, initials, people)?;
            if proof.role.is_some_and(|role| role < least) {
                return Err(SignFault::NotOfRole(initials.clone(), least));
            }
        }
        holds(SignatureRole::First, initials, proof)?;
        let wanted = self.second_signer_required(at, initials, people);
        match (second, wanted) {
            (None, None) => Ok(()),
            (None, Some(_)) if self.needs_second(initials, people) => {
                Err(SignFault::SecondNeeded(initials.clone()))
            }
            (None, Some(role)) => Err(SignFault::SecondAsked(role)),
            (Some(second), wanted) => {
                if second.initials == *initials || second.proof.key == proof.key {
                    return Err(SignFault::SamePerson(initials.clone()));
                }
                let signer = holds(SignatureRole::Second, &second.initials, &second.proof)?;
                let least = wanted.unwrap_or(Role::Operator);
                let enough = match second.proof.role {
                    Some(role) => role >= least,
                    None => signer.person.at_least(least).is_some(),
                };
                if enough {
                    Ok(())
                } else {
                    Err(SignFault::SecondRole(second.initials.clone(), least))
                }
            }
        }
    }
}
