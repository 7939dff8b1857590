//! Signing with keys, where people are registered: the operator's PIN, and the second signer's at the same prompt.

use super::error::WalkError;
use super::keyring::{self, UnlockOutcome};
use super::people_list;
use super::prompt_commands::stop_word;
use super::session::{Flow, Session};
use crate::interlock::answer::SigningMethod;
use crate::interlock::answering::initials;
use crate::interlock::command::Signing;
use crate::interlock::signing::{SignatureRole as Signature, second_signers};
use crate::interlock::{Command, Instance};
use crate::keys::Key;
use crate::people::{People, Role};
use crate::report::page::{Page, Tone};
use crate::report::words;
use crate::terminal::prompt::{Question, QuestionPart, Reply};
use std::sync::Arc;

/// Stands in the record for what may have been a PIN, typed where it is shown.
pub(super) const UNRECORDED: &str = "(not recorded)";

/// What is recorded of something that was typed for initials and refused. Where people are registered, only initials
/// that are somebody's: anything else may be a PIN typed too soon.
pub(super) fn recordable(said: &str, people: &People) -> String {
    let known = initials(said).is_some_and(|who| people.find(&who).is_some());
    if people.is_empty() || known {
        said.to_owned()
    } else {
        UNRECORDED.to_owned()
    }
}

impl Session<'_> {
    /// What signs at `at` for `signer`, after the code was typed; `page` is what is signed, for the second signer to read. An
    /// inner error is how the question ends instead; [`Flow::Next`] asks for the sign-off again.
    pub(super) fn signatures(
        &mut self,
        at: &Instance,
        signer: &str,
        page: &Page,
    ) -> Result<Result<(SigningMethod, Signing), Flow>, WalkError> {
        let mut people = People::clone(&*self.people()?);
        if people.is_empty() {
            let means = if self.reads_file() {
                SigningMethod::AnswersFile
            } else {
                SigningMethod::TypedWithCode
            };
            return Ok(Ok((means, Signing::default())));
        }
        let first = match self.key_of(&mut people, signer)? {
            Ok(key) => key,
            Err(flow) => return Ok(Err(flow)),
        };
        let mut second = None;
        if let Some(least) = self.state.second_signer_required(at, signer, &people) {
            match self.second(at, signer, least, &mut people, page)? {
                Ok(found) => second = Some(found),
                Err(flow) => return Ok(Err(flow)),
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
        Ok(Ok((SigningMethod::Key, with)))
    }

    /// The second signer and their key: they see what is signed, and are asked until somebody who may has signed. What the
    /// operator signed stands meanwhile.
    fn second(
        &mut self,
        at: &Instance,
        signer: &str,
        least: Role,
        people: &mut People,
        page: &Page,
    ) -> Result<Result<(String, Key), Flow>, WalkError> {
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
            let said = match self.line(at, "second", &part)? {
                Ok(said) => said,
                Err(flow) => return Ok(Err(flow)),
            };
            if said.is_empty() {
                let text = format!("Not signed: what {signer} signed is dropped, and asked again.");
                self.prompter.show(&Page::new().toned(Tone::Look, text))?;
                return Ok(Err(Flow::Next));
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
            match self.line(at, "code", &QuestionPart::Code(code.clone()))? {
                Ok(typed) if typed.eq_ignore_ascii_case(&code) => {}
                Ok(_) => {
                    self.refuse(
                        at,
                        UNRECORDED,
                        "that is not the code shown; a new one is shown",
                    )?;
                    continue;
                }
                Err(flow) => return Ok(Err(flow)),
            }
            match self.key_of(people, &who)? {
                Ok(key) => return Ok(Ok((who, key))),
                Err(Flow::Next) => {}
                Err(flow) => return Ok(Err(flow)),
            }
        }
    }

    /// One line of the second signer. Stopping and leaving mean the same as everywhere; the other words that work at every
    /// prompt are for whoever has the run, and nothing typed is a way back.
    fn line(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &QuestionPart,
    ) -> Result<Result<String, Flow>, WalkError> {
        loop {
            let said = match self
                .prompter
                .ask(&Question::new(prompt, &at.step, part.clone()))?
            {
                Reply::Said(said) => said.trim().to_owned(),
                Reply::Interrupted => return Ok(Err(self.leave("Ctrl-C")?)),
                Reply::Closed => return Ok(Err(self.leave("the terminal went away")?)),
            };
            if let Some(reason) = stop_word(&said) {
                return Ok(Err(self.stop(at, reason)?));
            }
            match said.to_lowercase().as_str() {
                "leave" => return Ok(Err(self.leave("left")?)),
                "holds" => self.show_holds()?,
                "?" => {
                    let text = "The second signer reads what is signed, above, and looks at the machine; then initials, the code \
                                that is shown, and their own PIN. `stop` if something is wrong, `leave` to go on later, `holds` \
                                for all that holds cycle start.";
                    self.prompter.show(&Page::new().text(text))?;
                }
                _ => return Ok(Ok(said)),
            }
        }
    }

    /// Says to an operator who may not run this alone that they will not sign alone, while there is time to fetch somebody.
    pub(super) fn show_second_signer(&mut self) -> Result<(), WalkError> {
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

    fn key_of(&mut self, people: &mut People, who: &str) -> Result<Result<Key, Flow>, WalkError> {
        let unlocked = self.unlock(people, who)?;
        self.opened(unlocked)
    }

    fn opened(&mut self, unlocked: UnlockOutcome) -> Result<Result<Key, Flow>, WalkError> {
        Ok(match unlocked {
            UnlockOutcome::Key(key) => Ok(key),
            UnlockOutcome::No | UnlockOutcome::Shut => Err(Flow::Next),
            UnlockOutcome::Interrupted => Err(self.leave("Ctrl-C")?),
            UnlockOutcome::Closed => Err(self.leave("the terminal went away")?),
        })
    }

    /// Lets the person who takes the run prove who they are, where people are registered. None when they did, or need not;
    /// else how the question goes on.
    #[allow(clippy::option_option)] // nobody to identify, or how that went
    pub(super) fn identify(&mut self, who: &str) -> Result<Option<Option<Flow>>, WalkError> {
        let book = self.shop_book.as_mut().unwrap_or(&mut self.book);
        let mut people = people_list::load(book)?;
        if people.is_empty() {
            return Ok(None);
        }
        let who = initials(who).unwrap_or_default();
        let unlocked = keyring::unlock(book, &mut people, self.prompter, self.clock, &who)?;
        Ok(match self.opened(unlocked)? {
            Ok(_) => None,
            Err(Flow::Next) => Some(None),
            Err(flow) => Some(Some(flow)),
        })
    }

    /// Looks whether a sign-off fell because of who may sign now; why is shown.
    pub(super) fn signature_invalidated(&mut self) -> Result<bool, WalkError> {
        let people = self.people()?;
        let events = self.must_carry(&Command::LookAtPeople { people })?;
        if events.is_empty() {
            return Ok(false);
        }
        let page = words::recorded(&events, &self.state);
        self.prompter.show(&page)?;
        Ok(true)
    }
}
