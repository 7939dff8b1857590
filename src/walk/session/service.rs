//! A machine out of service: what is shown of it, and how the walk asks for it to be put back.

use crate::interlock::service::LOCK_OUT;
use crate::interlock::{Command, Instance, OutOfService, Refusal};
use crate::people::Role;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::session::Session;
use crate::walk::session::answer_step::is_no;
use crate::walk::store::commit::Committed;
use crate::walk::store::machines;

/// What gives up a question before its end.
const NO: &str = "no";

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
            machines::read(&session.book, &session.state.begun.machine)
        })?;
        if let Some(seen) = seen {
            self.must_commit(&Command::KnowOutOfService(seen))?;
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
                if is_no(said) {
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
            if is_no(&reason) {
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
            match self.commit(&command)? {
                Committed::Stored(_) => {
                    self.prompter.taken(Taken::Otherwise)?;
                    let machine = &self.state.begun.machine;
                    let text = format!(
                        "Recorded: {machine} is back in service, by {by}. What it was found by is asked again."
                    );
                    self.prompter.show(&Page::new().toned(Tone::Strong, text))?;
                    return Ok(true);
                }
                Committed::Refused(refusal) => {
                    self.refuse(at, &reason, &refusal.words(&self.show()))?;
                }
            }
        }
    }
}
