//! Signing with keys, where people are registered: the operator's PIN, and the second signer's at the same prompt.

use super::error::WalkError;
use super::keyring::Unlocked;
use super::session::{Flow, Session};
use crate::desk::{Ask, Part, Reply};
use crate::interlock::answer::Means;
use crate::interlock::answering::initials;
use crate::interlock::command::Signing;
use crate::interlock::signing::{Part as Signature, beside};
use crate::interlock::{Command, Instance};
use crate::keys::Key;
use crate::people::{People, Role};
use crate::report::page::{Page, Tone};
use crate::report::words;
use std::sync::Arc;

impl Session<'_> {
    /// What signs at `at` for `signer`, after the code was typed. An inner error is how the question ends instead;
    /// [`Flow::Next`] asks for the sign-off again.
    pub(super) fn signatures(
        &mut self,
        at: &Instance,
        signer: &str,
    ) -> Result<Result<(Means, Signing), Flow>, WalkError> {
        let mut people = People::clone(&*self.people()?);
        if people.is_empty() {
            let means = if self.state.begun.answers_file.is_some() {
                Means::AnswersFile
            } else {
                Means::TypedWithCode
            };
            return Ok(Ok((means, Signing::default())));
        }
        let digest = self.state.digest_before(at);
        let text = |session: &Self, part, who: &str, people: &People| {
            let signs_as = session.state.signs_as(at, part, who, people);
            session.state.text_to_sign(at, part, who, signs_as, digest)
        };
        let first = match self.key_of(&mut people, signer)? {
            Ok(key) => key.sign(&text(self, Signature::First, signer, &people)),
            Err(flow) => return Ok(Err(flow)),
        };
        let mut second = None;
        if let Some(least) = self.state.second_wanted(at, signer, &people) {
            let who = match self.beside(at, signer, least, &people)? {
                Ok(who) => who,
                Err(flow) => return Ok(Err(flow)),
            };
            let key = match self.key_of(&mut people, &who)? {
                Ok(key) => key,
                Err(flow) => return Ok(Err(flow)),
            };
            let signature = key.sign(&text(self, Signature::Second, &who, &people));
            second = Some((who, signature));
        }
        let with = Signing {
            people: Arc::new(people),
            first: Some(first),
            second,
        };
        Ok(Ok((Means::Key, with)))
    }

    /// Who signs beside, because the operator may not run this alone or the hold point asks for it: another person, who then
    /// types a code of their own.
    fn beside(
        &mut self,
        at: &Instance,
        signer: &str,
        least: Role,
        people: &People,
    ) -> Result<Result<String, Flow>, WalkError> {
        let why = if self.state.needs_second(signer, people) {
            format!("{signer} may not run this alone.")
        } else {
            "Two sign here.".to_owned()
        };
        let text = format!(
            "{why} Hand the keyboard to {}, who reads the screen above and signs the same state beside {signer}.",
            beside(least)
        );
        let page = Page::new()
            .gap()
            .toned(Tone::Look, text)
            .next("Second signer: type your initials, or Enter alone to go back.");
        self.desk.show(&page)?;
        let part = Part::Initials(Some("second signer".to_owned()));
        let said = match self.line(at, "second", part)? {
            Ok(said) => said,
            Err(flow) => return Ok(Err(flow)),
        };
        let Some(who) = initials(&said) else {
            return Ok(Err(Flow::Next));
        };
        let entitled = people
            .active(&who)
            .is_some_and(|l| l.person.at_least(least).is_some());
        if who == signer || !entitled {
            let why = format!(
                "{who} cannot sign beside {signer} here: that is for {}",
                beside(least)
            );
            self.refuse(at, &said, &why)?;
            return Ok(Err(Flow::Next));
        }
        let code = self.desk.code()?;
        let page = Page::new().next(format!("To sign as {who}, type this code: {code}"));
        self.desk.show(&page)?;
        match self.line(at, "code", Part::Code(code.clone()))? {
            Ok(typed) if typed.eq_ignore_ascii_case(&code) => Ok(Ok(who)),
            Ok(typed) => {
                self.refuse(
                    at,
                    &typed,
                    "that is not the code shown; sign again with a new one",
                )?;
                Ok(Err(Flow::Next))
            }
            Err(flow) => Ok(Err(flow)),
        }
    }

    fn line(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: Part,
    ) -> Result<Result<String, Flow>, WalkError> {
        Ok(match self.desk.ask(&Ask::new(prompt, &at.step, part))? {
            Reply::Said(said) => Ok(said.trim().to_owned()),
            Reply::Interrupted => Err(self.leave("Ctrl-C")?),
            Reply::Closed => Err(self.leave("the terminal went away")?),
        })
    }

    fn key_of(&mut self, people: &mut People, who: &str) -> Result<Result<Key, Flow>, WalkError> {
        Ok(match self.unlock(people, who)? {
            Unlocked::Key(key) => Ok(key),
            Unlocked::No => Err(Flow::Next),
            Unlocked::Interrupted => Err(self.leave("Ctrl-C")?),
            Unlocked::Closed => Err(self.leave("the terminal went away")?),
        })
    }

    /// Lets the person who takes the run prove who they are, where people are registered. None when they did, or need not;
    /// else how the question goes on.
    #[allow(clippy::option_option)] // nobody to identify, or how that went
    pub(super) fn identify(&mut self, who: &str) -> Result<Option<Option<Flow>>, WalkError> {
        let mut people = People::clone(&*self.people()?);
        if people.is_empty() {
            return Ok(None);
        }
        let who = initials(who).unwrap_or_default();
        Ok(match self.key_of(&mut people, &who)? {
            Ok(_) => None,
            Err(Flow::Next) => Some(None),
            Err(flow) => Some(Some(flow)),
        })
    }

    /// Looks whether a sign-off fell because of who may sign now; why is shown.
    pub(super) fn signature_fell(&mut self) -> Result<bool, WalkError> {
        let people = self.people()?;
        let events = self.must_carry(&Command::LookAtPeople { people })?;
        if events.is_empty() {
            return Ok(false);
        }
        let page = words::recorded(&events, &self.state);
        self.desk.show(&page)?;
        Ok(true)
    }
}
