//! Whether a sign-off is one: by whom it must be, with which key, over what.
//!
//! One statement of it, asked three times: when somebody signs, when the gate looks, and when a record is verified. The
//! people come in with the call: as they are now for the first two, as they were then for the third.

use super::answer::{Answer, Proof, SigningMethod};
use super::instance::Instance;
use super::state::State;
use crate::fingerprint::Fingerprint;
use crate::keys;
use crate::people::{People, Role};
use crate::procedure::Kind;
use crate::procedure::model::SecondSigner;

/// Why a sign-off is none.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum SignFault {
    /// People are registered, and this was not signed with a key.
    #[error(
        "people are registered, so it is signed with a key, and this was by typed initials or an answers file"
    )]
    NoKey,
    /// Nobody is registered, so there can be no key.
    #[error("it bears a key, and nobody was registered")]
    NobodyListed,
    /// Somebody is not on the list or is retired.
    #[error("{0} is not on the list of people, or is retired")]
    NotListed(String),
    /// The key is not the one of that person.
    #[error("the key is not the one {0} has")]
    OtherKey(String),
    /// The signature does not fit.
    #[error("the signature of {0} does not hold for this state")]
    Broken(String),
    /// A second signer is needed.
    #[error("{0} may not run this alone: a trainer or an owner signs beside")]
    SecondNeeded(String),
    /// The second signer is the first.
    #[error("the second signer must be somebody else than {0}")]
    SamePerson(String),
    /// The hold point asks for a second signer.
    #[error("this hold point asks for a second signature, by {}", second_signers(*.0))]
    SecondAsked(Role),
    /// The hold point asks for a second signer, and there is nobody to know them by.
    #[error(
        "this hold point asks for a second signature, by {}, and nobody is registered: `skimgate people add` begins the list", second_signers(*.0)
    )]
    SecondUnknown(Role),
    /// The second signer has not the role.
    #[error("{0} cannot sign beside here: that is for {least}", least = second_signers(*.1))]
    SecondRole(String, Role),
    /// Somebody signed as what they are not.
    #[error("{0} signed as {role}, and is none", role = .1.word())]
    NotInRole(String, Role),
    /// The hold point is for another role than the operator's.
    #[error("{0} cannot sign here: this hold point is signed by {least}", least = signer(*.1))]
    NotOfRole(String, Role),
    /// The hold point is for a role, and there is nobody to know it by.
    #[error(
        "this hold point is signed by {}, and nobody is registered: `skimgate people add` begins the list", signer(*.0)
    )]
    RoleUnlisted(Role),
    /// The procedure names a role that nobody can have.
    #[error("the procedure lets it be signed by `{0}`, which is no role")]
    NoRole(String),
    /// The signature does not cover the list of people.
    #[error("it does not cover the list of people as it stood")]
    NoList,
    /// It covers another list of people than the one on record.
    #[error(
        "it covers another list of people than the one on record then: an entry of the list was removed, added or changed"
    )]
    OtherList,
    /// It is signed by somebody who does not have the run.
    #[error("it is signed by {0}, who does not have the run")]
    NotOperator(String),
    /// Only an owner takes a run over.
    #[error("{0} is no owner, and only an owner takes a run over")]
    NoOwner(String),
    /// Only a trainer or an owner puts a machine back in service.
    #[error("{0} is neither trainer nor owner, and only they put a machine back in service")]
    PutsNothingBack(String),
    /// It is over another state.
    #[error("it is signed over another state of the run")]
    OtherState,
}

/// Who may sign beside where that role is the least.
pub fn second_signers(least: Role) -> &'static str {
    match least {
        Role::Operator => "somebody else on the list of people",
        Role::Trainer => "a trainer or an owner",
        Role::Owner => "an owner",
    }
}

/// Who may sign a hold point of that role.
pub fn signer(least: Role) -> &'static str {
    match least {
        Role::Operator => "anybody on the list of people",
        Role::Trainer => "a trainer or an owner",
        Role::Owner => "an owner",
    }
}

/// By which rules a sign-off is judged.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Rules {
    /// By those of this version.
    Now,
    /// By those before version 5: the role of the hold point bound nobody, and the list of people was not covered.
    Older,
}

/// Which of the two signatures.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SignatureRole {
    /// The operator's.
    First,
    /// The one beside it.
    Second,
}

impl State {
    /// The text that is signed: what it is, and the fingerprint of run, step, role, meaning, signer, what they sign as, part,
    /// the state's digest and that of the list of people.
    pub fn text_to_sign(
        &self,
        at: &Instance,
        part: SignatureRole,
        initials: &str,
        signs_as: Option<Role>,
        digest: Fingerprint,
        list: Option<Fingerprint>,
    ) -> String {
        let (role, states) = match self.step(at).map(|s| &s.kind) {
            Some(Kind::Sign { role, states, .. }) => (role.as_str(), states.as_str()),
            _ => ("", ""),
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

    /// What somebody signs as: the operator as the least they are, the second as the least of theirs that will do.
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

    /// Who must sign at `at` beside `initials`, at the least; nobody, where none is asked for. What the hold point asks for
    /// is not asked in a rehearsal, which has no people.
    pub fn second_signer_required(
        &self,
        at: &Instance,
        initials: &str,
        people: &People,
    ) -> Option<Role> {
        let learner = self.needs_second(initials, people).then_some(Role::Trainer);
        learner.max(self.second_signer_of_step(at))
    }

    fn second_signer_of_step(&self, at: &Instance) -> Option<Role> {
        match self.step(at).map(|s| &s.kind) {
            Some(Kind::Sign {
                second: Some(second),
                ..
            }) if !self.begun.rehearsal => Some(match second {
                SecondSigner::Operator => Role::Operator,
                SecondSigner::Trainer => Role::Trainer,
                SecondSigner::Owner => Role::Owner,
            }),
            _ => None,
        }
    }

    /// What whoever signs at `at` must be at the least. Not asked in a rehearsal, which has no people.
    fn required_role(&self, at: &Instance) -> Result<Role, SignFault> {
        match self.step(at).map(|s| &s.kind) {
            Some(Kind::Sign { role, .. }) if !self.begun.rehearsal => {
                Role::from_word(role).ok_or_else(|| SignFault::NoRole(role.clone()))
            }
            _ => Ok(Role::Operator),
        }
    }

    /// Whether somebody has the role that the hold point is for.
    ///
    /// # Errors
    /// Why not.
    pub fn check_role(&self, at: &Instance, who: &str, people: &People) -> Result<(), SignFault> {
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

    /// The text that an owner signs who takes the run over: what it is, the run, who has it, who takes it, when its last
    /// entry was made, and the digests of all that is answered and of the list of people.
    pub fn text_to_take_over(&self, by: &str, list: Option<Fingerprint>) -> String {
        // No asking is like it, so that nothing comes after it and the digest is over everything.
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

    /// Whether the run is rightly taken over, with `people` as they stand: by an owner, with the key they have.
    ///
    /// # Errors
    /// Why not.
    pub fn check_taken_over(
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

    /// Whether somebody else must sign beside this person: they may not run this machine or this procedure alone.
    pub fn needs_second(&self, initials: &str, people: &People) -> bool {
        let b = &self.begun;
        people
            .active(initials)
            .is_some_and(|l| !l.person.may_run_alone(&b.machine, &b.procedure_id))
    }

    /// Whether `answer`, where it is signed or must be signed with a key, is a sign-off of `at` over the state before it, with `people` as they stand.
    ///
    /// # Errors
    /// Why not.
    pub fn check_signed(
        &self,
        at: &Instance,
        answer: &Answer,
        people: &People,
    ) -> Result<(), SignFault> {
        self.check_signed_by(at, answer, people, Rules::Now)
    }

    /// The same of a sign-off on record, with `people` as they stood when it was recorded: then it covers just that list.
    ///
    /// # Errors
    /// Why not.
    pub fn check_recorded(
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
