//! The words that work at every prompt, and what they do.

use super::error::WalkError;
use super::pages;
use super::session::{Flow, Left, Session};
use crate::desk::{Ask, Part, Reply};
use crate::interlock::answering::initials;
use crate::interlock::gate::{self, Asks};
use crate::interlock::standing::Standing;
use crate::interlock::{Command, Elsewhere, Instance, Refusal};
use crate::procedure::Kind;
use crate::report;
use crate::report::page::{Page, Tone};

/// What was said at a prompt once the words that work everywhere are seen to.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Heard {
    /// An answer, trimmed; not empty.
    Said(String),
    /// The question ends otherwise.
    Flow(Flow),
}

/// The words that work at every prompt: the word, what may follow it, and what it does.
pub const WORDS: [(&str, &str, &str); 9] = [
    (
        "?",
        "STEP",
        "why this is asked, or how the value of a step came about",
    ),
    (
        "back",
        "STEP",
        "to the question before, or to a step by its id",
    ),
    ("holds", "", "everything that holds cycle start"),
    ("map", "", "the plate at the plane chosen last"),
    ("note", "TEXT", "write a note into the record"),
    ("handover", "INITIALS", "hand the run to somebody else"),
    ("leave", "", "leave; the run resumes at this question"),
    ("stop", "REASON", "something is wrong: record it and hold"),
    ("end", "", "give this run up for good"),
];

/// What a line says that begins with the stop word: the reason, which may be empty.
pub(super) fn stop_word(said: &str) -> Option<&str> {
    let said = said.trim();
    let (word, rest) = said.split_once(char::is_whitespace).unwrap_or((said, ""));
    word.eq_ignore_ascii_case("stop").then_some(rest.trim())
}

impl Session<'_> {
    /// Asks one question of a step and takes one line; the words that work everywhere are seen to here.
    pub fn listen(&mut self, at: &Instance, prompt: &str, part: &Part) -> Result<Heard, WalkError> {
        loop {
            let ask = Ask::new(prompt, &at.step, part.clone()).about(&self.state, at);
            let said = match self.desk.ask(&ask)? {
                Reply::Said(said) => said.trim().to_owned(),
                Reply::Interrupted => return self.leave("Ctrl-C").map(Heard::Flow),
                Reply::Closed => return self.leave("the terminal went away").map(Heard::Flow),
            };
            let (word, rest) = match said.split_once(char::is_whitespace) {
                Some((word, rest)) => (word, rest.trim()),
                None => (said.as_str(), ""),
            };
            match (word.to_lowercase().as_str(), rest) {
                ("", _) => {
                    let text = "Nothing typed. Answer the question, or type ? for help.";
                    self.desk.show(&Page::new().toned(Tone::Look, text))?;
                    self.desk.refused(text)?;
                }
                ("?" | "why" | "help", "") => {
                    let page = pages::help(&self.state, at).then(self.asked.clone());
                    self.desk.show(&page)?;
                }
                // Words that name no step are left to the question, which may want them.
                ("?" | "why" | "help", step) if self.tell_why(at, step)? => {}
                ("holds", "") => self.show_holds()?,
                ("map", "") => self.map_again()?,
                ("back", _) => {
                    if self.back(at, rest)? {
                        return Ok(Heard::Flow(Flow::Next));
                    }
                }
                ("note", _) => {
                    if let Some(flow) = self.note(at, rest)? {
                        return Ok(Heard::Flow(flow));
                    }
                }
                ("handover", _) => {
                    if let Some(flow) = self.hand_over(at, rest)? {
                        return Ok(Heard::Flow(flow));
                    }
                }
                ("leave", "") => return self.leave("left").map(Heard::Flow),
                ("stop", _) => return self.stop(at, rest).map(Heard::Flow),
                ("end", "") => {
                    if let Some(flow) = self.end(at)? {
                        return Ok(Heard::Flow(flow));
                    }
                }
                _ => return Ok(Heard::Said(said)),
            }
        }
    }

    /// Records that the run is left.
    pub fn pause(&mut self, how: &str) -> Result<(), WalkError> {
        self.must_carry(&Command::Pause {
            how: how.to_owned(),
        })?;
        Ok(())
    }

    /// Leaves the run to be resumed.
    pub fn leave(&mut self, how: &str) -> Result<Flow, WalkError> {
        self.pause(how)?;
        if self.state.begun.rehearsal {
            let text = "The rehearsal ends here: a practice mill is not kept.";
            self.desk
                .show(&Page::new().gap().toned(Tone::Strong, text))?;
            return Ok(Flow::Leave(Left::Saved));
        }
        let (saved, question) = if self.state.cutting.is_some() {
            (
                "Saved. The machine goes on: this ends nothing there.",
                "and asks how the cut ended",
            )
        } else {
            ("Saved. Cycle start is held.", "at this question")
        };
        let page = Page::new().gap().toned(Tone::Strong, saved).next(format!(
            "`skimgate walk` takes run {} up again {question}.",
            self.state.begun.run
        ));
        self.desk.show(&page)?;
        Ok(Flow::Leave(Left::Saved))
    }

    /// One line more for a word that was typed alone. An inner error is how the question ends instead: Ctrl-C means
    /// the same here as at every prompt.
    fn more(
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

    fn note(&mut self, at: &Instance, text: &str) -> Result<Option<Flow>, WalkError> {
        let text = if text.is_empty() {
            match self.more(at, "note", Part::Note)? {
                Ok(said) => said,
                Err(flow) => return Ok(Some(flow)),
            }
        } else {
            text.to_owned()
        };
        if text.is_empty() {
            self.desk
                .show(&Page::new().toned(Tone::Look, "Nothing noted."))?;
            return Ok(None);
        }
        self.must_carry(&Command::Note { text })?;
        self.desk.show(&Page::new().toned(Tone::Quiet, "Noted."))?;
        Ok(None)
    }

    /// Goes back to the question before, or to a named step. Whether there is one to go back to.
    fn back(&mut self, at: &Instance, step: &str) -> Result<bool, WalkError> {
        if self.state.cutting.is_some() {
            let text = "A cut is under way; say first how it ended.";
            self.desk.show(&Page::new().toned(Tone::Look, text))?;
            return Ok(false);
        }
        if self.state.out_of_service.is_some() {
            let text = "The machine is out of service; nothing is answered before it is put back.";
            self.desk.show(&Page::new().toned(Tone::Look, text))?;
            return Ok(false);
        }
        let target = if step.is_empty() {
            pages::question_before(&self.state, at)
        } else {
            self.state
                .asked()
                .iter()
                .map(crate::interlock::sequence::Place::instance)
                .rfind(|of| of.step == step && self.state.answers.contains_key(of))
        };
        let target = target.filter(|of| !self.state.is_history(of));
        let worked_out = target.as_ref().and_then(|of| {
            let step = self.state.step(of)?;
            matches!(step.kind, Kind::WorkOut { .. })
                .then(|| (step.id.clone(), self.back_words(of, step)))
        });
        if let Some((id, words)) = worked_out {
            let text = format!(
                "`{id}` is worked out, not typed. Go back to what it comes from: {words}. `? {id}` shows how it came about."
            );
            self.desk.show(&Page::new().toned(Tone::Look, text))?;
            return Ok(false);
        }
        if target.is_none() {
            let text = if step.is_empty() {
                "There is no question before this one that can still be changed.".to_owned()
            } else {
                format!("There is no answered step `{step}` that can still be changed.")
            };
            self.desk.show(&Page::new().toned(Tone::Look, text))?;
            return Ok(false);
        }
        self.back_to = target;
        Ok(true)
    }

    fn hand_over(&mut self, at: &Instance, to: &str) -> Result<Option<Flow>, WalkError> {
        let to = if to.is_empty() {
            let text = "To whom? Type their initials, or Enter alone to go on as before.";
            self.desk.show(&Page::new().next(text))?;
            match self.more(at, "initials", Part::Operator)? {
                Ok(said) => said,
                Err(flow) => return Ok(Some(flow)),
            }
        } else {
            to.to_owned()
        };
        let from = self.state.operator.clone();
        if to.is_empty() || initials(&to).as_ref() == Some(&from) {
            let text = format!("{from} has the run, as before.");
            self.desk.show(&Page::new().toned(Tone::Look, text))?;
            return Ok(None);
        }
        let known = self.identify(&to)?;
        if let Some(flow) = known {
            return Ok(flow);
        }
        let command = |reason| Command::HandOver {
            to: to.clone(),
            elsewhere: Elsewhere {
                others: Vec::new(),
                reason,
            },
        };
        let mut decided = self.carry(&command(None))?;
        if let Err(refusal @ Refusal::AlsoInUse { .. }) = &decided {
            match self.reason(at, refusal)? {
                Ok(reason) => decided = self.carry(&command(Some(reason)))?,
                Err(flow) => return Ok(flow),
            }
        }
        match decided {
            Ok(_) => {
                let page = Page::new().toned(
                    Tone::Strong,
                    format!(
                        "Handed over from {from} to {}. {}",
                        self.state.operator,
                        self.asked_again()
                    ),
                );
                self.desk.show(&page)?;
                self.tell_of_second()?;
                self.heading = None;
                Ok(Some(Flow::Next))
            }
            Err(refusal) => {
                let why = refusal.words(&self.show());
                self.refuse(at, &to, &why)?;
                Ok(None)
            }
        }
    }

    /// What a new operator is asked again, in words: what others answered for their own person.
    pub(super) fn asked_again(&self) -> String {
        let standings = self.state.standings(self.now());
        let others = |standing: &Standing| matches!(standing, Standing::OtherPerson { .. });
        match standings.iter().filter(|(_, s)| others(s)).count() {
            0 => "No answer falls by that; what is signed is signed again.".to_owned(),
            1 => "One answer was for the person who gave it, and is asked again.".to_owned(),
            n => format!("{n} answers were for the person who gave them, and are asked again."),
        }
    }

    /// Gives the run up, after the word is typed a second time.
    fn end(&mut self, at: &Instance) -> Result<Option<Flow>, WalkError> {
        if self.state.cutting.is_some() {
            let text = "A cut is under way; say first how it ended.";
            self.desk.show(&Page::new().toned(Tone::Look, text))?;
            return Ok(None);
        }
        let text = "This gives the run up for good; a new one begins at the first question. \
                    Type `give up` to do it, anything else to go on.";
        self.desk.show(&Page::new().toned(Tone::Look, text))?;
        match self.more(at, "give up", Part::Other("give up".to_owned()))? {
            Ok(said) if said.eq_ignore_ascii_case("give up") => {}
            Ok(_) => {
                let text = "Not given up; the run goes on.";
                self.desk.show(&Page::new().toned(Tone::Look, text))?;
                return Ok(None);
            }
            Err(flow) => return Ok(Some(flow)),
        }
        self.must_carry(&Command::End {
            outcome: crate::interlock::event::Outcome::Abandoned,
        })?;
        self.desk
            .show(&Page::new().toned(Tone::Strong, "The run is given up. Its record stays."))?;
        Ok(Some(Flow::Leave(Left::Abandoned)))
    }

    /// Shows every reason to hold cycle start, with what clears each.
    pub fn show_holds(&mut self) -> Result<(), WalkError> {
        let seen = self.seen();
        let show = self.show();
        let people = self.people()?;
        let holds = match gate::start(&self.state, self.now(), seen, &people, Asks::Holder) {
            Ok(_) => Vec::new(),
            Err(holds) => holds,
        };
        let page = if holds.is_empty() {
            Page::new().toned(
                Tone::Good,
                "Nothing recorded holds cycle start. The operator decides.",
            )
        } else {
            Page::new()
                .toned(
                    Tone::Strong,
                    format!("Cycle start is held, {}:", gate::reasons(holds.len())),
                )
                .then(report::holds::page(&self.state, &holds, &show))
        };
        Ok(self.desk.show(&page)?)
    }
}

#[cfg(test)]
mod tests {
    use super::WORDS;
    use crate::procedure::model::{WORDS_ALONE, WORDS_FIRST};

    #[test]
    fn no_answer_of_a_procedure_can_be_one_of_these_words() {
        for (word, ..) in WORDS {
            assert!(
                WORDS_ALONE.contains(&word) || WORDS_FIRST.contains(&word),
                "{word}"
            );
        }
    }
}
