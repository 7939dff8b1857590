//! The hold point: what is signed, initials, and a code that is shown then and there.

use crate::clock;
use crate::interlock::answer_status::Next;
use crate::interlock::answering::initials;
use crate::interlock::signing::{SignFault, second_signers};
use crate::interlock::{Command, Instance, Refusal};
use crate::procedure::Kind;
use crate::report::page::{Item, Page, Tone};
use crate::report::words;
use crate::terminal::prompt::{QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::session::Session;
use crate::walk::session::keys::{UNRECORDED, recordable};
use crate::walk::store::commit::Committed;

impl Session<'_> {
    /// Asks for a sign-off.
    pub(crate) fn sign(&mut self, at: &Instance, states: &str, role: &str) -> Prompted<()> {
        if self.program_invalidated()? {
            return Ok(());
        }
        let page = self.what_is_signed(at, states, role);
        let people = self.people()?;
        let mut asked = page.clone();
        if let Some(least) = self
            .state
            .second_signer_required(at, &self.state.operator, &people)
        {
            let text = format!(
                "Beside you signs {}, at this terminal. Have them here first.",
                second_signers(least)
            );
            asked = asked.toned(Tone::Look, text);
        }
        if self.state.from_file {
            let text = "Answers of this run come from a file: it is never released, whoever signs.";
            asked = asked.toned(Tone::Look, text);
        }
        self.prompter
            .show(&asked.next("Type your initials to sign."))?;
        loop {
            let part = QuestionPart::Initials(None);
            let said = self.listen(at, "initials", &part)?;
            // Told now rather than after the code, which would look like an invitation to sign as anybody.
            let signer = match initials(&said) {
                None => Err(Refusal::NoInitials.words(&self.show())),
                Some(other) if other != self.state.operator => {
                    let operator = self.state.operator.clone();
                    // Words that repeat what was typed would bring it into the record all the same.
                    Err(if recordable(&said, &people) == UNRECORDED {
                        format!(
                            "that is nobody on the list of people; {operator} has this run, and signs"
                        )
                    } else {
                        let said = other;
                        Refusal::OtherSigner { said, operator }.words(&self.show())
                    })
                }
                Some(signer) => Ok(signer),
            };
            let signer = match signer {
                Ok(signer) => signer,
                Err(why) => {
                    self.refuse(at, &recordable(&said, &people), &why)?;
                    continue;
                }
            };
            if let Err(fault) = self.state.check_role(at, &signer, &people) {
                let why = match &fault {
                    SignFault::NotOfRole(..) => {
                        format!("{fault}; type `handover` and hand the run over to one")
                    }
                    _ => fault.to_string(),
                };
                self.refuse(at, &signer, &why)?;
                continue;
            }
            // Said before anybody types a code and a PIN for nothing.
            if let Next::Ask(next, _) = self.state.next(self.now())
                && next != *at
            {
                let why = self.lapsed(&next);
                self.refuse(at, &signer, &why)?;
                return Ok(());
            }
            // A code that nobody can have typed ahead: whoever types it has read this screen.
            let code = self.prompter.code()?;
            let text = format!("To sign as {signer}, type this code: {code}");
            self.prompter.show(&Page::new().next(text))?;
            let typed = self.listen(at, "code", &QuestionPart::Code(code.clone()))?;
            if !typed.eq_ignore_ascii_case(&code) {
                let typed = if people.is_empty() {
                    &typed
                } else {
                    UNRECORDED
                };
                self.refuse(
                    at,
                    typed,
                    "that is not the code shown; sign again with a new one",
                )?;
                continue;
            }
            let Some((means, with)) = self.signatures(at, &signer, &page)? else {
                continue;
            };
            let command = Command::Sign {
                at: at.clone(),
                initials: signer,
                means,
                with,
            };
            match self.commit(&command)? {
                Committed::Stored(events) => {
                    self.prompter.taken(Taken::Recorded(&events))?;
                    let beside = match &command {
                        Command::Sign { with, .. } => with.second.as_ref(),
                        _ => None,
                    };
                    let beside = beside.map_or(String::new(), |(who, _)| {
                        format!(", and beside them by {who}")
                    });
                    let text = format!("Signed by {}{beside}.", self.state.operator);
                    self.prompter.show(&Page::new().toned(Tone::Good, text))?;
                    return Ok(());
                }
                Committed::Refused(refusal) => {
                    let why = match &refusal {
                        Refusal::OutOfOrder { next, .. } => self.lapsed(next),
                        other => other.words(&self.show()),
                    };
                    self.refuse(at, &said, &why)?;
                    // Something before the sign-off went stale meanwhile; it is asked first.
                    if matches!(refusal, Refusal::Held(_) | Refusal::OutOfOrder { .. }) {
                        return Ok(());
                    }
                }
            }
        }
    }

    /// Looks at the program file; whether it fell, and why, is shown.
    pub(crate) fn program_invalidated(&mut self) -> Result<bool, WalkError> {
        let program = self.seen();
        let events = self.must_commit(&Command::LookAtProgram { program })?;
        if events.is_empty() {
            return Ok(false);
        }
        let page = words::recorded(&events, "", &self.state);
        self.prompter.show(&page)?;
        Ok(true)
    }

    /// What the next cut will do, by the run's own figures: its plane, what was entered for it, the program.
    fn signed_over(&self, at: &Instance) -> Vec<Item> {
        let show = self.show();
        let places = self.state.asked();
        // Roughing and finishing each count from one, so the number alone does not tell this pass.
        let here = places.iter().find(|p| p.instance() == *at);
        let each = here.and_then(|p| p.phase.each.as_ref());
        let own = places
            .iter()
            .filter(|p| each.is_some() && p.phase.each.as_ref() == each && p.pass == at.pass);
        let mut items = Vec::new();
        for place in own {
            let of = place.instance();
            match &place.step.kind {
                Kind::Enter(_) if self.state.answers.contains_key(&of) => {
                    let entered = self.state.answer(&of).map(|a| words::answer(a, &show));
                    items.extend(entered.map(|e| format!("{}: {e}", place.step.title)));
                }
                Kind::Cut { plane, .. } => {
                    let plane = self.state.env(&of).quantity(plane);
                    items.extend(plane.map(|q| format!("Plane: {}", show.signed().both(q))));
                }
                Kind::Enter(_)
                | Kind::Confirm { .. }
                | Kind::Choose { .. }
                | Kind::Read { .. }
                | Kind::Note
                | Kind::Touch(_)
                | Kind::WorkOut { .. }
                | Kind::Program { .. }
                | Kind::Codes(_)
                | Kind::Sign { .. }
                | Kind::Inspect
                | Kind::Wait { .. } => {}
            }
        }
        if let Some((_, path, _)) = self.state.program() {
            let name = std::path::Path::new(path).file_name();
            items.extend(name.map(|n| format!("Program: {}", n.to_string_lossy())));
        }
        items.into_iter().map(Item::new).collect()
    }

    fn what_is_signed(&self, at: &Instance, states: &str, role: &str) -> Page {
        let mut page = Page::new()
            .list(self.signed_over(at))
            .text(format!("As {role} you sign: {states}"));
        let deviations: Vec<Item> = self
            .state
            .deviations
            .iter()
            .map(|(of, d)| {
                let title = self.state.step(of).map_or("", |s| s.title.as_str());
                Item::toned(
                    Tone::Look,
                    format!(
                        "{title}: outside {}, accepted by {}: {}",
                        d.limit, d.by, d.reason
                    ),
                )
            })
            .collect();
        let also = self.state.also_in_use.iter();
        let also = also.map(|a| Item::toned(Tone::Look, a.words(&clock::local)));
        let deviations: Vec<Item> = deviations.into_iter().chain(also).collect();
        if !deviations.is_empty() {
            page = page.text("With these accepted:").list(deviations);
        }
        page
    }
}
