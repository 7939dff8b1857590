//! A change of the list of people: looked at, signed by an owner, recorded.

use super::super::failure::Failure;
use super::super::status::Status;
use super::history::words;
use super::known::KnownIds;
use super::{Owner, StandingArgs};
use crate::book::Book;
use crate::clock::Clock;
use crate::fingerprint::Fingerprint;
use crate::keys::{Key, RecoveryCode};
use crate::people::fold::ListedPerson;
use crate::people::{Event, People, Person, PracticeDone, Refusal, Signed};
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::Prompter;
use crate::walk::practice::scores::{self, Uncounted};
use crate::walk::prompts::keyring::{self, UnlockOutcome};
use crate::walk::store::people_list;
use std::collections::BTreeMap;
use std::ops::ControlFlow;

fn refused(refusal: &Refusal) -> Failure {
    Failure::usage(refusal.to_string())
}

/// A change of the list under way.
pub(crate) struct Change<'a> {
    /// Ids that are known here.
    pub known: KnownIds,
    /// Where it is recorded.
    pub book: &'a mut Book,
    /// The list as it stands.
    pub people: People,
    /// Why clean rehearsals of who is changed do not count, with how many.
    pub uncounted: BTreeMap<Uncounted, usize>,
    /// Who types the PINs.
    pub prompter: &'a mut dyn Prompter,
    /// What time it is.
    pub clock: &'a dyn Clock,
}

impl Change<'_> {
    /// A person as they would stand after a change.
    pub(crate) fn changed(&self, initials: &str, stands: &StandingArgs) -> Result<Person, Failure> {
        let listed = self.people.find(initials);
        let mut person = match listed {
            Some(listed) => listed.person.clone(),
            None => return Err(refused(&Refusal::Unknown(initials.to_owned()))),
        };
        if stands.name.is_some() {
            person.name.clone_from(&stands.name);
        }
        if !stands.role.is_empty() {
            person.roles = stands.role.iter().copied().collect();
        }
        if let Some(machines) = &stands.machines {
            person.machines = machines.clone();
        }
        if let Some(procedures) = &stands.procedures {
            person.procedures = procedures.clone();
        }
        Ok(person)
    }

    /// What the practice book beside this one has of somebody, where the shop asks for practice. Clean rehearsals that do not
    /// count are named with the reason if the change is refused.
    pub(crate) fn practised(&mut self, initials: &str) -> Result<Option<PracticeDone>, Failure> {
        let Some(wanted) = self.people.required().filter(|r| r.asks()) else {
            return Ok(None);
        };
        let path = scores::beside(self.book.path());
        if !path.exists() {
            return Ok(None);
        }
        let book = Book::open_existing(path)?;
        // A score that somebody wrote into the file is no practice.
        book.verify_chain()?;
        let counted = scores::counted(&scores::all(&book)?, initials, &self.people, wanted);
        let asked = |text: &Fingerprint| wanted.scenarios.iter().any(|s| s.text == *text);
        let practised = PracticeDone {
            rehearsals: u32::try_from(counted.seeds.len()).unwrap_or(u32::MAX),
            points: wanted.points,
            last: scores::last(&book)?,
            scenarios: counted.scenarios.into_iter().filter(asked).collect(),
            trainer: wanted.trainer,
        };
        self.uncounted = counted.uncounted;
        Ok(Some(practised))
    }

    /// A change that needs no key but the owner's.
    pub(crate) fn of_owner(&mut self, owner: &Owner, event: Event) -> Result<Status, Failure> {
        self.possible(&event)?;
        match self.owner(owner)? {
            ControlFlow::Continue((by, key)) => self.record(event, &by, &key),
            ControlFlow::Break(status) => Ok(status),
        }
    }

    /// A change that comes with a key. It is looked at before anybody types a PIN.
    pub(crate) fn with_new_key(
        &mut self,
        initials: &str,
        owner: &Owner,
        event: impl Fn(String) -> Event,
    ) -> Result<Status, Failure> {
        self.possible(&event(String::new()))?;
        let signer = if self.people.is_empty() {
            None
        } else {
            match self.owner(owner)? {
                ControlFlow::Continue(signer) => Some(signer),
                ControlFlow::Break(status) => return Ok(status),
            }
        };
        let Some(pin) = keyring::new_pin(self.prompter, initials)? else {
            return left(self.prompter);
        };
        let path = self.book.path().to_path_buf();
        let key = keyring::make(&path, self.prompter, initials, &pin)?;
        let event = event(key.public());
        let had_code = self.has_code(initials);
        let status = match &signer {
            Some((by, owner)) => self.record(event, by, owner)?,
            // Nobody is there yet who could: the first person signs themselves.
            None => self.record(event, initials, &key)?,
        };
        // A code goes with the key that it stands in for.
        if signer.is_none() || had_code {
            self.make_code(initials, &key)?;
        }
        Ok(status)
    }

    /// A new recovery code for an owner, who types their PIN.
    pub(crate) fn new_code(&mut self, initials: &str) -> Result<Status, Failure> {
        self.possible(&Event::RecoveryMade {
            initials: initials.to_owned(),
            recovery: String::new(),
        })?;
        let owner = Owner {
            by: Some(initials.to_owned()),
        };
        match self.owner(&owner)? {
            ControlFlow::Continue((_, key)) => self.make_code(initials, &key),
            ControlFlow::Break(status) => Ok(status),
        }
    }

    /// A new key for an owner whose PIN is lost, by their recovery code; the code is spent, and the next one shown.
    pub(crate) fn recover(&mut self, initials: &str) -> Result<Status, Failure> {
        let event = |key: String, recovery: String| Event::Recovered {
            initials: initials.to_owned(),
            key,
            recovery,
        };
        self.possible(&event(String::new(), String::new()))?;
        let (people, prompter) = (&mut self.people, &mut *self.prompter);
        let with = match keyring::open_recovery(self.book, people, prompter, self.clock, initials)?
        {
            UnlockOutcome::Key(with) => with,
            UnlockOutcome::No | UnlockOutcome::Shut => return Ok(Status::Held),
            UnlockOutcome::Interrupted | UnlockOutcome::Closed => return left(self.prompter),
        };
        let Some(pin) = keyring::new_pin(self.prompter, initials)? else {
            return left(self.prompter);
        };
        let path = self.book.path().to_path_buf();
        let key = keyring::make(&path, self.prompter, initials, &pin)?;
        let (code, next) = keyring::make_recovery(&path, self.prompter, initials)?;
        let status = self.record(event(key.public(), next.public()), initials, &with)?;
        self.show_code(initials, &code)?;
        Ok(status)
    }

    fn make_code(&mut self, initials: &str, key: &Key) -> Result<Status, Failure> {
        let path = self.book.path().to_path_buf();
        let (code, recovery) = keyring::make_recovery(&path, self.prompter, initials)?;
        let event = Event::RecoveryMade {
            initials: initials.to_owned(),
            recovery: recovery.public(),
        };
        let status = self.record(event, initials, key)?;
        self.show_code(initials, &code)?;
        Ok(status)
    }

    fn show_code(&mut self, initials: &str, code: &RecoveryCode) -> Result<(), Failure> {
        let mut page = Page::new()
            .toned(
                Tone::Strong,
                "The recovery code, shown this once. Write it down and lock it away:",
            )
            .working(code.lines())
            .text(format!(
                "Then clear the screen: whoever has the code can sign as {initials}. When the PIN is lost, `skimgate people key {initials} --recovery` asks for it."
            ));
        if let Some(text) = second_owner(&self.people) {
            page = page.toned(Tone::Look, text);
        }
        Ok(self.prompter.show(&page)?)
    }

    fn has_code(&self, initials: &str) -> bool {
        self.people
            .active(initials)
            .is_some_and(|l| l.recovery.is_some())
    }

    /// What an owner can do whose PIN is lost.
    fn ways_out(&self, initials: &str) -> String {
        let another = self.people.owners() > 1;
        let code = self.has_code(initials);
        match (another, code) {
            (true, true) => format!(
                "If the PIN is lost: another owner issues a new key with `skimgate people key {initials}`, or your recovery code does: `skimgate people key {initials} --recovery`."
            ),
            (true, false) => format!(
                "If the PIN is lost: another owner issues a new key with `skimgate people key {initials}`."
            ),
            (false, true) => format!(
                "If the PIN is lost: `skimgate people key {initials} --recovery` asks for your recovery code."
            ),
            (false, false) => format!(
                "If the PIN is lost: {initials} is the only owner and has no recovery code, and nothing else replaces an owner's key. The way on is a new book with a new list; keep two owners in it."
            ),
        }
    }

    /// Which owner does it, and their key; when it was not unlocked, which was told, how that ends.
    fn owner(&mut self, owner: &Owner) -> Result<ControlFlow<Status, (String, Key)>, Failure> {
        let owners: Vec<String> = self
            .people
            .all()
            .filter(|l| l.is_owner())
            .map(|l| l.person.initials.clone())
            .collect();
        let by = match (&owner.by, owners.as_slice()) {
            (Some(by), _) => by.to_uppercase(),
            (None, [one]) => one.clone(),
            (None, []) => {
                return Err(Failure::usage("nobody is on the list yet")
                    .hint("`skimgate people add INITIALS --role owner` begins it"));
            }
            (None, _) => {
                return Err(Failure::usage(format!(
                    "there are several owners: {}",
                    owners.join(", ")
                ))
                .hint("say which one does it: `--by INITIALS`"));
            }
        };
        if !owners.contains(&by) {
            return Err(Failure::usage(format!(
                "{by} is no owner; only an owner keeps the list"
            )));
        }
        match keyring::open(self.book, &mut self.people, self.prompter, self.clock, &by)? {
            UnlockOutcome::Key(key) => Ok(ControlFlow::Continue((by, key))),
            UnlockOutcome::No => Ok(ControlFlow::Break(Status::Held)),
            UnlockOutcome::Shut => {
                let text = self.ways_out(&by);
                self.prompter.show(&Page::new().text(text))?;
                Ok(ControlFlow::Break(Status::Held))
            }
            UnlockOutcome::Interrupted | UnlockOutcome::Closed => {
                left(self.prompter).map(ControlFlow::Break)
            }
        }
    }

    fn possible(&self, event: &Event) -> Result<(), Failure> {
        self.people.possible(event).map_err(|refusal| match refusal {
            Refusal::NoCode(initials) => {
                let hint = self.ways_out(&initials);
                refused(&Refusal::NoCode(initials)).hint(hint)
            }
            Refusal::NotPractised { ref missing, .. } => {
                let mut failure = Failure::new(Status::Held, refusal.to_string());
                for (why, count) in &self.uncounted {
                    let these = if *count == 1 {
                        "1 clean rehearsal does not count".to_owned()
                    } else {
                        format!("{count} clean rehearsals do not count")
                    };
                    failure = failure.hint(format!("{these}: {}", why.words()));
                }
                failure = match missing.first() {
                    Some(first) => failure.hint(format!(
                        "`skimgate rehearse --scenario {}` rehearses it, `skimgate rehearse --scores` lists them",
                        first.file
                    )),
                    None => failure
                        .hint("`skimgate rehearse` makes one, `skimgate rehearse --scores` lists them"),
                };
                failure.hint(
                    "until then `--machines none --procedures none`: a trainer or owner signs beside",
                )
            }
            other => refused(&other),
        })
    }

    fn record(&mut self, event: Event, by: &str, key: &Key) -> Result<Status, Failure> {
        self.possible(&event)?;
        let now = self.clock.now();
        let text = words(&event);
        let strange = match &event {
            Event::Added { person, .. } | Event::Changed { person, .. } => {
                self.known.strange(person)
            }
            _ => Vec::new(),
        };
        let signed = Signed::by(event, by, key, &self.people.place(now));
        people_list::append(self.book, &mut self.people, now, &signed)?;
        let mut page = Page::new().toned(Tone::Good, format!("{text} Recorded, signed by {by}."));
        for said in strange {
            page = page.toned(Tone::Look, said);
        }
        self.prompter.show(&page)?;
        Ok(Status::Fine)
    }
}

/// What is advised while there is one owner only.
pub(crate) fn second_owner(people: &People) -> Option<String> {
    let ListedPerson {
        person, recovery, ..
    } = people.only_owner()?;
    let who = &person.initials;
    let code = match recovery {
        Some(_) => String::new(),
        None => format!(" and has no recovery code (`skimgate people code {who}` makes one)"),
    };
    Some(format!(
        "{who} is the only owner{code}. A second one can issue a new key when a PIN is lost: `skimgate people add INITIALS --role owner`."
    ))
}

fn left(prompter: &mut dyn Prompter) -> Result<Status, Failure> {
    let page = Page::new().toned(Tone::Strong, "Left. The list stays as it was.");
    prompter.show(&page)?;
    Ok(Status::Interrupted)
}
