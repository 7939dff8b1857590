//! Decides which changes of the list of people are allowed.

use super::event::Event;
use super::fold::{ListedPerson, People};
use super::person::{Initials, Person, Role};
use super::practice::{NamedScenario, PracticeDone, PracticeRequirement};

/// Why a change of the list is refused. A refused change has no effect.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Refusal {
    /// The initials are taken, perhaps by a retired person.
    #[error(
        "{0} is or was somebody on the list; old records name them, so other initials are needed"
    )]
    Taken(Initials),
    /// The initials have a wrong form.
    #[error("initials are one to eight letters or digits")]
    Initials,
    /// Nobody on the list has these initials.
    #[error("{0} is not on the list; `skimgate people list` shows who is")]
    Unknown(Initials),
    /// The person is retired.
    #[error("{0} is retired; add the person again under other initials")]
    Retired(Initials),
    /// The change would have no effect.
    #[error("this would not change anything for {0}")]
    Same(Initials),
    /// The person would have no role.
    #[error("a person needs a role: operator, trainer or owner")]
    NoRole,
    /// The first person must be able to change the list.
    #[error("the first person on the list must be an owner, since only an owner can add others")]
    FirstOwner,
    /// No owner would be left.
    #[error(
        "{0} is the last owner; make another person an owner first, or nobody can change the list"
    )]
    LastOwner(Initials),
    /// The list is empty, so nobody could sign the change.
    #[error("nobody is on the list yet; begin it with `skimgate people add INITIALS --role owner`")]
    Nobody,
    /// The same practice is required already.
    #[error("this practice is required already")]
    SameRequired,
    /// The person has too little practice for running alone.
    #[error(
        "{initials} cannot be let run alone yet: the shop asks for {}. {initials} has {has}{}",
        .wanted.listed(), and_lacks(.missing)
    )]
    NotPractised {
        /// The initials of the person.
        initials: Initials,
        /// The required practice.
        wanted: PracticeRequirement,
        /// The number of rehearsals that count.
        has: u32,
        /// The required scenarios that are missing.
        missing: Vec<NamedScenario>,
    },
    /// A recovery code was asked for a person who is not an owner.
    #[error(
        "{0} is no owner; a recovery code is for owners, and an owner issues {0} a new key where a PIN is lost: `skimgate people key {0}`"
    )]
    CodeForOwners(Initials),
    /// The person has no recovery code.
    #[error(
        "{0} has no recovery code; while {0} knows the PIN, `skimgate people code {0}` makes one"
    )]
    NoCode(Initials),
    /// The key belongs or belonged to a person on the list.
    #[error("that key belongs or belonged to somebody on the list")]
    KeyKnown,
}

impl People {
    /// Checks that `event` can happen to the present list. It does not check who signs it.
    ///
    /// # Errors
    /// The [`Refusal`] that says why not.
    pub fn possible(&self, event: &Event) -> Result<(), Refusal> {
        match event {
            Event::Added {
                person,
                key,
                practised,
            } => {
                if !sound(&person.initials) {
                    return Err(Refusal::Initials);
                }
                if self.find(&person.initials).is_some() {
                    return Err(Refusal::Taken(person.initials.clone()));
                }
                if person.roles.is_empty() {
                    return Err(Refusal::NoRole);
                }
                if self.is_empty() && !person.is(Role::Owner) {
                    return Err(Refusal::FirstOwner);
                }
                self.practised(event, &person.initials, practised.as_ref())?;
                self.unknown(key)
            }
            Event::Changed { person, practised } => {
                let listed = self.on_list(&person.initials)?;
                if person.roles.is_empty() {
                    return Err(Refusal::NoRole);
                }
                if listed == person {
                    return Err(Refusal::Same(person.initials.clone()));
                }
                if listed.is(Role::Owner) && !person.is(Role::Owner) && self.owners() == 1 {
                    return Err(Refusal::LastOwner(person.initials.clone()));
                }
                self.practised(event, &person.initials, practised.as_ref())
            }
            Event::Required { .. } if self.is_empty() => Err(Refusal::Nobody),
            Event::Required { practice } => {
                let asked = self.required().is_some_and(PracticeRequirement::asks);
                if !asked && !practice.asks() || self.required() == Some(practice) {
                    return Err(Refusal::SameRequired);
                }
                Ok(())
            }
            Event::Retired { initials } => {
                let listed = self.on_list(initials)?;
                if listed.is(Role::Owner) && self.owners() == 1 {
                    return Err(Refusal::LastOwner(initials.clone()));
                }
                Ok(())
            }
            Event::KeyIssued { initials, key } => {
                self.on_list(initials)?;
                self.unknown(key)
            }
            Event::RecoveryMade { initials, recovery } => {
                if !self.on_list(initials)?.is(Role::Owner) {
                    return Err(Refusal::CodeForOwners(initials.clone()));
                }
                self.unknown(recovery)
            }
            Event::Recovered {
                initials,
                key,
                recovery,
            } => {
                if !self.on_list(initials)?.is(Role::Owner) {
                    return Err(Refusal::CodeForOwners(initials.clone()));
                }
                if self.find(initials).is_none_or(|l| l.recovery.is_none()) {
                    return Err(Refusal::NoCode(initials.clone()));
                }
                self.unknown(key)?;
                self.unknown(recovery)
            }
            Event::WrongPin { .. }
            | Event::WrongCode { .. }
            | Event::WaitRestarted { .. }
            | Event::Unlocked { .. } => Ok(()),
        }
    }

    fn on_list(&self, initials: &str) -> Result<&Person, Refusal> {
        match self.find(initials) {
            None => Err(Refusal::Unknown(initials.to_owned())),
            Some(listed) if listed.retired.is_some() => Err(Refusal::Retired(initials.to_owned())),
            Some(listed) => Ok(&listed.person),
        }
    }

    fn practised(
        &self,
        event: &Event,
        initials: &str,
        practised: Option<&PracticeDone>,
    ) -> Result<(), Refusal> {
        match self.practice_for(event) {
            Some(wanted) if !wanted.met_by(practised) => Err(Refusal::NotPractised {
                initials: initials.to_owned(),
                wanted: wanted.clone(),
                has: wanted.has(practised),
                missing: wanted.missing(practised).into_iter().cloned().collect(),
            }),
            _ => Ok(()),
        }
    }

    fn unknown(&self, key: &str) -> Result<(), Refusal> {
        let known = |l: &ListedPerson| {
            l.recovery.as_deref() == Some(key) || l.keys.iter().any(|k| k.public == key)
        };
        if self.all().any(known) {
            Err(Refusal::KeyKnown)
        } else {
            Ok(())
        }
    }
}

fn and_lacks(scenarios: &[NamedScenario]) -> String {
    let titles: Vec<String> = scenarios.iter().map(|s| format!("`{}`", s.title)).collect();
    match titles.as_slice() {
        [] => String::new(),
        _ => format!(" and lacks {}", titles.join(", ")),
    }
}

/// Whether initials have the stored form: one to eight letters or digits, in capitals.
fn sound(initials: &str) -> bool {
    (1..=8).contains(&initials.chars().count())
        && initials.chars().all(char::is_alphanumeric)
        && initials.to_uppercase() == initials
}
