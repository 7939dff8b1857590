//! Signing with keys, where people are registered: the operator's PIN, and the second signer's at the same prompt.

use crate::interlock::answer::SigningMethod;
use crate::interlock::answering::initials;
use crate::interlock::command::Signing;
use crate::interlock::signing::{SignatureRole as Signature, second_signers};
use crate::interlock::{Command, Instance};
use crate::keys::Key;
use crate::people::{People, Role};
use crate::report::page::{Page, Tone};
use crate::report::words;
use crate::terminal::prompt::{Completions, QuestionPart};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::commands::PromptCommand;
use crate::walk::prompts::keyring::{self, UnlockOutcome};
use crate::walk::session::Session;
use crate::walk::store::people_list;
use std::sync::Arc;

/// Stands in the record for what may have been a PIN, typed where it is shown.
pub(crate) const UNRECORDED: &str = "(not recorded)";

/// What is recorded of something that was typed for initials and refused. Where people are registered, only initials
/// that are somebody's: anything else may be a PIN typed too soon.
pub(crate) fn recordable(said: &str, people: &People) -> String {
    let known = initials(said).is_some_and(|who| people.find(&who).is_some());
    if people.is_empty() || known {
        said.to_owned()
    } else {
        UNRECORDED.to_owned()
    }
}

impl Session<'_> {
    /// What signs at `at` for `signer`, after the code was typed; `page` is what is signed, for the second signer to read. None
    /// where they did not sign: the sign-off is asked again.
    pub(crate) fn signatures(
        &mut self,
        at: &Instance,
        signer: &str,
        page: &Page,
    ) -> Prompted<Option<(SigningMethod, Signing)>> {
        let mut people = People::clone(&*self.people()?);
        if people.is_empty() {
            let means = if self.reads_file() {
                SigningMethod::AnswersFile
            } else {
                SigningMethod::TypedWithCode
            };
            return Ok(Some((means, Signing::default())));
        }
        let Some(first) = self.key_of(&mut people, signer)? else {
            return Ok(None);
        };
        let mut second = None;
        if let Some(least) = self.state.second_signer_required(at, signer, &people) {
            second = self.second(at, signer, least, &mut people, page)?;
            if second.is_none() {
                return Ok(None);
            }
        }
        // Only now, over the list as it is: each prompt, here or at another terminal, may have added to it.
        let people = self.people()?;
        let digest = self.state.digest_before(at);
        let list = Some(people.digest());
        let sign = |part, who: &str, key: &Key| {
            let signs_as = self.state.signs_as(at, part, who, &people);
            let text = self
                .state
                .text_to_sign(at, part, who, signs_as, digest, list);
            key.sign(&text)
        };
        let with = Signing {
            first: Some(sign(Signature::First, signer, &first)),
            second: second.map(|(who, key)| {
                let signature = sign(Signature::Second, &who, &key);
                (who, signature)
            }),
            people: Arc::clone(&people),
        };
        Ok(Some((SigningMethod::Key, with)))
    }

    /// The second signer and their key: they see what is signed, and are asked until somebody who may has signed. What the
    /// operator signed stands meanwhile. None where what the operator signed is dropped.
    fn second(
        &mut self,
        at: &Instance,
        signer: &str,
        least: Role,
        people: &mut People,
        page: &Page,
    ) -> Prompted<Option<(String, Key)>> {
        let why = if self.state.needs_second(signer, people) {
            format!("{signer} may not run this alone.")
        } else {
            "Two sign here.".to_owned()
        };
        let text = format!(
            "{why} Hand the keyboard to {}, who reads this and signs the same state beside {signer}:",
            second_signers(least)
        );
        let page = Page::new().gap().toned(Tone::Look, text).then(page.clone());
        self.prompter.show(&page)?;
        loop {
            let text = format!(
                "Second signer: type your initials. Enter alone drops what {signer} signed and goes back."
            );
            self.prompter.show(&Page::new().next(text))?;
            let part = QuestionPart::Initials(Some("second signer".to_owned()));
            let said = self.second_line(at, "second", &part)?;
            if said.is_empty() {
                let text = format!("Not signed: what {signer} signed is dropped, and asked again.");
                self.prompter.show(&Page::new().toned(Tone::Look, text))?;
                return Ok(None);
            }
            let may = initials(&said).filter(|who| {
                who != signer
                    && people
                        .active(who)
                        .is_some_and(|l| l.person.at_least(least).is_some())
            });
            let Some(who) = may else {
                let why = match initials(&said).filter(|who| people.find(who).is_some()) {
                    Some(who) => format!(
                        "{who} cannot sign beside {signer} here: that is for {}",
                        second_signers(least)
                    ),
                    None => "that is nobody on the list of people".to_owned(),
                };
                self.refuse(at, &recordable(&said, people), &why)?;
                continue;
            };
            let code = self.prompter.code()?;
            let page = Page::new().next(format!("To sign as {who}, type this code: {code}"));
            self.prompter.show(&page)?;
            let typed = self.second_line(at, "code", &QuestionPart::Code(code.clone()))?;
            if !typed.eq_ignore_ascii_case(&code) {
                let why = "that is not the code shown; a new one is shown";
                self.refuse(at, UNRECORDED, why)?;
                continue;
            }
            if let Some(key) = self.key_of(people, &who)? {
                return Ok(Some((who, key)));
            }
        }
    }

    /// One line of the second signer. Stopping and leaving mean the same as everywhere; the other words that work at every
    /// prompt are for whoever has the run, and nothing typed is a way back.
    fn second_line(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &QuestionPart,
    ) -> Prompted<String> {
        loop {
            let said = self.line(
                at,
                prompt,
                part,
                Completions::of(["stop", "leave", "holds"]),
            )?;
            match PromptCommand::read(&said) {
                Some((PromptCommand::Stop, reason)) => return Err(self.stop(at, reason)),
                Some((PromptCommand::Leave, _)) => return Err(self.leave("left")),
                Some((PromptCommand::Holds, _)) => self.show_holds()?,
                Some((PromptCommand::Help, "")) => {
                    let text = "The second signer reads what is signed, above, and looks at the machine; then initials, the code \
                                that is shown, and their own PIN. `stop` if something is wrong, `leave` to go on later, `holds` \
                                for all that holds cycle start.";
                    self.prompter.show(&Page::new().text(text))?;
                }
                _ => return Ok(said),
            }
        }
    }

    /// Says to an operator who may not run this alone that they will not sign alone, while there is time to fetch somebody.
    pub(crate) fn show_second_signer(&mut self) -> Result<(), WalkError> {
        let people = self.people()?;
        let operator = &self.state.operator;
        if self.state.begun.rehearsal || !self.state.needs_second(operator, &people) {
            return Ok(());
        }
        let text = format!(
            "{operator} may not run this alone: at every sign-off {} signs beside {operator}, at this terminal and with their own PIN. Have them at hand before the first.",
            second_signers(Role::Trainer)
        );
        Ok(self.prompter.show(&Page::new().toned(Tone::Look, text))?)
    }

    /// The key of somebody on the list, opened with their PIN; none where it was not.
    pub(crate) fn key_of(&mut self, people: &mut People, who: &str) -> Prompted<Option<Key>> {
        let unlocked = self.unlock(people, who)?;
        self.opened(unlocked)
    }

    /// The key that was unlocked, where it was.
    fn opened(&mut self, unlocked: UnlockOutcome) -> Prompted<Option<Key>> {
        match unlocked {
            UnlockOutcome::Key(key) => Ok(Some(key)),
            UnlockOutcome::No | UnlockOutcome::Shut => Ok(None),
            UnlockOutcome::Interrupted => Err(self.leave("Ctrl-C")),
            UnlockOutcome::Closed => Err(self.leave("the terminal went away")),
        }
    }

    /// Lets the person who takes the run prove who they are, where people are registered; whether they did, or need not.
    pub(crate) fn identify(&mut self, who: &str) -> Prompted<bool> {
        let book = self.shop_book.as_mut().unwrap_or(&mut self.book);
        let mut people = people_list::load(book)?;
        if people.is_empty() {
            return Ok(true);
        }
        let who = initials(who).unwrap_or_default();
        let unlocked = keyring::unlock(book, &mut people, self.prompter, self.clock, &who)?;
        Ok(self.opened(unlocked)?.is_some())
    }

    /// Looks whether a sign-off fell because of who may sign now; why is shown.
    pub(crate) fn signature_invalidated(&mut self) -> Result<bool, WalkError> {
        let people = self.people()?;
        let events = self.must_commit(&Command::LookAtPeople { people })?;
        if events.is_empty() {
            return Ok(false);
        }
        let page = words::recorded(&events, "", &self.state);
        self.prompter.show(&page)?;
        Ok(true)
    }
}
