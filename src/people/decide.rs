//! What may be done to the list of people.

use super::event::Event;
use super::fold::{ListedPerson, People};
use super::person::{Initials, Person, Role};
use super::practice::{NamedScenario, PracticeDone, PracticeRequirement};

/// Why something is not done to the list. Nothing changes by it.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Refusal {
    /// The initials are taken, perhaps by somebody retired.
    #[error(
        "{0} is or was somebody on the list; old records name them, so other initials are needed"
    )]
    Taken(Initials),
    /// Initials that cannot be.
    #[error("initials are one to eight letters or digits")]
    Initials,
    /// Nobody has these initials.
    #[error("{0} is not on the list; `skimgate people list` shows who is")]
    Unknown(Initials),
    /// They are retired.
    #[error("{0} is retired; add them anew under other initials")]
    Retired(Initials),
    /// Nothing would change.
    #[error("that is how {0} stands already")]
    Same(Initials),
    /// A person without a role.
    #[error("a person needs a role: operator, trainer or owner")]
    NoRole,
    /// The first person must be able to keep the list.
    #[error("the first person on the list must be an owner, since only an owner can add others")]
    FirstOwner,
    /// There would be no owner left.
    #[error(
        "{0} is the last owner; make somebody else an owner first, or nobody can keep the list"
    )]
    LastOwner(Initials),
    /// There is nobody yet who could say it.
    #[error("nobody is on the list yet; begin it with `skimgate people add INITIALS --role owner`")]
    Nobody,
    /// That much practice is asked for already.
    #[error("that is what stands already")]
    SameRequired,
    /// Too little practice for running alone.
    #[error(
        "{initials} cannot be let run alone yet: the shop asks for {}. {initials} has {has}{}",
        .wanted.listed(), and_lacks(.missing)
    )]
    NotPractised {
        /// Who.
        initials: Initials,
        /// What is asked for.
        wanted: PracticeRequirement,
        /// How many rehearsals count.
        has: u32,
        /// The scenarios that are missing, by their titles.
        missing: Vec<NamedScenario>,
    },
    /// A recovery code for somebody who keeps no list.
    #[error(
        "{0} is no owner; a recovery code is for owners, and an owner issues {0} a new key where a PIN is lost: `skimgate people key {0}`"
    )]
    CodeForOwners(Initials),
    /// Nothing to recover with.
    #[error(
        "{0} has no recovery code; while {0} knows the PIN, `skimgate people code {0}` makes one"
    )]
    NoCode(Initials),
    /// The key is or was somebody's.
    #[error("that key is or was somebody's")]
    KeyKnown,
}

impl People {
    /// Whether `event` can happen to the list as it stands; who does it is another matter.
    ///
    /// # Errors
    /// Why not.
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

/// Initials as they are kept: one to eight letters or digits, in capitals.
fn sound(initials: &str) -> bool {
    (1..=8).contains(&initials.chars().count())
        && initials.chars().all(char::is_alphanumeric)
        && initials.to_uppercase() == initials
}
