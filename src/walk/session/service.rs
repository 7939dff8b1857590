//! A machine out of service: what its record in the book says, and how the walk asks for it to be put back.
//!
//! A machine's ledger outlasts its runs. An entry goes into it in one transaction with the run's own. A rehearsal and a run
//! with an answer from a file write none.

use crate::book::{Book, Draft};
use crate::interlock::service::LOCK_OUT;
use crate::interlock::{Command, Event, Instance, OutOfService, Refusal, State};
use crate::people::Role;
use crate::quantity::moment::Moment;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::session::{Carried, Session};
use crate::walk::store::log;
use serde::{Deserialize, Serialize};

/// The version written beside each entry of a machine's ledger.
const VERSION: u32 = 1;

/// What every ledger of a machine begins with.
const LEDGER: &str = "machine ";

/// What gives up a question before its end.
const NO: &str = "no";

/// An entry of a machine's ledger, in the words it is stored in. Only ever added to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum ServiceEntry {
    /// It must not be used.
    OutOfService(OutOfService),
    /// It may be used again.
    BackInService {
        /// The run in which that was said.
        run: String,
        /// What was repaired, in the words typed.
        reason: String,
        /// The initials of the person who put it back.
        by: String,
    },
}

impl ServiceEntry {
    fn kind(&self) -> &'static str {
        match self {
            Self::OutOfService(_) => "out_of_service",
            Self::BackInService { .. } => "back_in_service",
        }
    }
}

/// The book's ledger of a machine.
pub(crate) fn ledger_of(machine: &str) -> String {
    format!("{LEDGER}{machine}")
}

/// A machine's record: what put it out of service, if that stands, and the number of its last entry.
pub(crate) fn read(book: &Book, machine: &str) -> Result<(Option<OutOfService>, u32), WalkError> {
    let entries = book.ledger(&ledger_of(machine))?;
    let n = entries.last().map_or(0, |e| e.n);
    let last = entries
        .last()
        .map(|e| log::stored::<ServiceEntry>(e, VERSION))
        .transpose()?;
    Ok((
        match last {
            Some((_, ServiceEntry::OutOfService(seen))) => Some(seen),
            _ => None,
        },
        n,
    ))
}

/// Every machine that is out of service, or the one that is named.
pub(crate) fn all(
    book: &Book,
    only: Option<&str>,
) -> Result<Vec<(String, OutOfService)>, WalkError> {
    let mut found = Vec::new();
    for ledger in book.ledgers()? {
        let machine = ledger.strip_prefix(LEDGER);
        if let Some(machine) = machine.filter(|m| only.is_none_or(|only| only == *m))
            && let (Some(seen), _) = read(book, machine)?
        {
            found.push((machine.to_owned(), seen));
        }
    }
    Ok(found)
}

/// What the machine's record says and the run's events do not, for whoever looks at a run from elsewhere.
pub(crate) fn add_to(book: &Book, state: &mut State) -> Result<(), WalkError> {
    if !state.begun.rehearsal && state.out_of_service.is_none() {
        state.out_of_service = read(book, &state.begun.machine)?.0;
    }
    Ok(())
}

/// What an event of a run writes into its machine's ledger.
fn line(state: &State, event: &Event) -> Option<ServiceEntry> {
    let run = &state.begun.run;
    if state.begun.rehearsal || state.from_file {
        return None;
    }
    match event {
        Event::OutOfService(seen) if seen.run == *run => {
            Some(ServiceEntry::OutOfService(seen.clone()))
        }
        Event::BackInService { reason, by, .. } => Some(ServiceEntry::BackInService {
            run: run.clone(),
            reason: reason.clone(),
            by: by.clone(),
        }),
        _ => None,
    }
}

/// The same as the book takes it.
pub(crate) fn drafts(state: &State, events: &[Event], at: Moment) -> Result<Vec<Draft>, WalkError> {
    let lines = events.iter().filter_map(|event| line(state, event));
    lines
        .map(|line| {
            let body = serde_json::to_string(&line).map_err(|e| {
                WalkError::Fault(format!("an entry of a machine cannot be written: {e}"))
            })?;
            Ok(Draft {
                at: at.to_string(),
                kind: line.kind().to_owned(),
                version: VERSION,
                body,
            })
        })
        .collect()
}

/// Whether the ledgers of machines hold exactly what these runs wrote, in the order of the book; what differs, if not.
pub(crate) fn compare(book: &Book, runs: &[String]) -> Result<Option<String>, WalkError> {
    let mut written: Vec<(u64, String, ServiceEntry)> = Vec::new();
    for run in runs {
        let entries = book.entries(run)?;
        log::replay(book, run, |n, state, event| {
            let entry = entries.iter().find(|e| e.n == n);
            if let (Some(line), Some(entry)) = (line(state, event), entry) {
                written.push((entry.seq, state.begun.machine.clone(), line));
            }
            Ok(())
        })?;
    }
    written.sort_by_key(|(seq, ..)| *seq);
    let mut machines: Vec<String> = book.ledgers()?;
    machines.retain(|ledger| ledger.starts_with(LEDGER));
    machines.extend(written.iter().map(|(_, machine, _)| ledger_of(machine)));
    machines.sort();
    machines.dedup();
    for ledger in machines {
        let held: Vec<ServiceEntry> = book
            .ledger(&ledger)?
            .iter()
            .map(|e| log::stored(e, VERSION).map(|(_, line)| line))
            .collect::<Result<_, _>>()?;
        let told = written.iter().filter(|(_, m, _)| ledger_of(m) == ledger);
        if !told.map(|(.., line)| line).eq(&held) {
            return Ok(Some(format!(
                "the record of {ledger} does not hold what its runs say of its being out of service"
            )));
        }
    }
    Ok(None)
}

/// That a machine is out of service, and what to do.
pub(crate) fn page(machine: &str, seen: &OutOfService) -> Page {
    Page::new()
        .gap()
        .toned(
            Tone::Stop,
            format!("{machine} is OUT OF SERVICE. {}.", seen.words()),
        )
        .toned(Tone::Stop, LOCK_OUT)
}

impl Session<'_> {
    /// Takes over from the machine's record that it is out of service, where the run does not know it yet.
    pub(crate) fn look_at_service(&mut self) -> Result<(), WalkError> {
        if self.state.begun.rehearsal {
            return Ok(());
        }
        let (seen, _) = self.insist(None, |session| {
            read(&session.book, &session.state.begun.machine)
        })?;
        if let Some(seen) = seen {
            self.must_carry(&Command::KnowOutOfService(seen))?;
        }
        Ok(())
    }

    /// Shows that the machine is out of service, and asks for it to be put back. Every answer but that is refused.
    pub(crate) fn out_of_service(&mut self) -> Prompted<()> {
        let at = self.open_question()?;
        let Some(seen) = self.state.out_of_service.clone() else {
            return Ok(());
        };
        self.heading = None;
        self.asked = Page::new().next(
            "When it is put right, type `in service`. `leave` leaves it so; `end` ends the run, and the next run on this machine is held too.",
        );
        let page = page(&self.state.begun.machine, &seen).then(self.asked.clone());
        self.prompter.show(&page)?;
        loop {
            let said = self.listen(&at, "out of service", &QuestionPart::Service)?;
            if !said.eq_ignore_ascii_case("in service") {
                let why = format!(
                    "`{said}` does not clear it; the machine stays out of service until somebody puts it back with a reason (`in service`)"
                );
                self.refuse(&at, &said, &why)?;
                continue;
            }
            if self.state.from_file {
                self.refuse(&at, &said, &Refusal::PutBackFromFile.words(&self.show()))?;
                continue;
            }
            self.prompter.taken(Taken::Otherwise)?;
            if self.put_back(&at)? {
                return Ok(());
            }
        }
    }

    /// Who puts it back, and why; whether they did.
    fn put_back(&mut self, at: &Instance) -> Prompted<bool> {
        let mut people = (*self.people()?).clone();
        let who = if people.is_empty() {
            "Who puts it back in service? Type their initials"
        } else {
            "Which trainer or owner puts it back in service? Type their initials"
        };
        let page = Page::new().next(format!("{who}, or `{NO}`."));
        self.prompter.show(&page)?;
        let (by, key) = loop {
            let may = |by: &str| {
                let listed = people.active(by);
                people.is_empty()
                    || listed.is_some_and(|l| l.person.at_least(Role::Trainer).is_some())
            };
            let mut asker = AtStep { session: self, at };
            let by = kit::until(&mut asker, "initials", &QuestionPart::Service, |said| {
                if said.eq_ignore_ascii_case(NO) {
                    return Ok(None);
                }
                let by = kit::read_initials(said)?;
                if may(&by) {
                    Ok(Some(by))
                } else {
                    Err(format!("{by} is no trainer and no owner on the list"))
                }
            })?;
            let Some(by) = by else {
                return Ok(false);
            };
            if people.is_empty() {
                break (by, None);
            }
            if let Some(key) = self.key_of(&mut people, &by)? {
                break (by, Some(key));
            }
        };
        self.prompter.taken(Taken::Otherwise)?;
        let page = Page::new().next(format!(
            "What was put right, and by whom? Type it in words, or `{NO}`."
        ));
        self.prompter.show(&page)?;
        loop {
            let reason = self.listen(at, "reason", &QuestionPart::Service)?;
            if reason.eq_ignore_ascii_case(NO) {
                return Ok(false);
            }
            let people = self.people()?;
            let list = Some(people.digest());
            let text = self.state.text_to_put_back(&by, &reason, list);
            let command = Command::PutBack {
                reason: reason.clone(),
                by: by.clone(),
                signature: key.as_ref().map(|key| key.sign(&text)),
                people,
            };
            match self.carry(&command)? {
                Carried::Stored(_) => {
                    self.prompter.taken(Taken::Otherwise)?;
                    let machine = &self.state.begun.machine;
                    let text = format!(
                        "Recorded: {machine} is back in service, by {by}. What it was found by is asked again."
                    );
                    self.prompter.show(&Page::new().toned(Tone::Strong, text))?;
                    return Ok(true);
                }
                Carried::Refused(refusal) => {
                    self.refuse(at, &reason, &refusal.words(&self.show()))?;
                }
            }
        }
    }
}
