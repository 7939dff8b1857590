//! One line at a step, and what the words that work at every prompt do there.

use crate::interlock::answer_status::AnswerStatus;
use crate::interlock::answering::initials;
use crate::interlock::gate::{self, Requester};
use crate::interlock::{Command, Elsewhere, Instance, Refusal};
use crate::procedure::Kind;
use crate::report;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{Completions, Question, QuestionPart, Reply, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::commands::{self, CANCEL, KEEP, PromptCommand};
use crate::walk::prompts::{Ending, Prompted};
use crate::walk::session::pages;
use crate::walk::session::{Left, Session};
use crate::walk::store::commit::Committed;

impl Session<'_> {
    /// Asks one question of a step and takes one line, trimmed and not empty; the words that work everywhere are seen to here.
    pub(crate) fn listen(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &QuestionPart,
    ) -> Prompted<String> {
        let mut asked_back = String::new();
        loop {
            let mut completions = self.completions.clone();
            completions.words.extend(commands::words());
            let said = self.line(at, prompt, part, completions)?;
            if said.is_empty() {
                let text = "Nothing typed. Answer the question, or type ? for help.";
                self.prompter.show(&Page::new().toned(Tone::Look, text))?;
                self.prompter.refused(text)?;
                continue;
            }
            if said == KEEP && self.may_keep(at, part) {
                self.prompter.taken(Taken::Otherwise)?;
                return Err(Ending::Next);
            }
            if said.eq_ignore_ascii_case(CANCEL) && answers_step(part) {
                let text = "No command is begun that could be cancelled. Answer the question, or type ? for help.";
                self.prompter.show(&Page::new().toned(Tone::Look, text))?;
                self.prompter.refused(text)?;
                continue;
            }
            let Some((command, rest)) = PromptCommand::read(&said) else {
                return Ok(said);
            };
            if rest.is_empty()
                && asked_back != said
                && let Some(answer) = self.looks_like(&said, part)
            {
                let text = ask_back(command, &said, &answer);
                self.prompter.show(&Page::new().toned(Tone::Look, &text))?;
                self.prompter.refused(&text)?;
                asked_back = said;
                continue;
            }
            match command {
                PromptCommand::Help if rest.is_empty() => {
                    let page = pages::help(&self.state, at).then(self.asked.clone());
                    self.prompter.show(&page)?;
                }
                // Words that name no step are left to the question, which may want them.
                PromptCommand::Help if !self.show_why(at, rest)? => return Ok(said),
                PromptCommand::Help => {}
                PromptCommand::Holds => self.show_holds()?,
                PromptCommand::Map => self.map_again()?,
                PromptCommand::Units => self.show_units(rest)?,
                PromptCommand::More => self.show_more()?,
                PromptCommand::Ways => self.show_ways()?,
                PromptCommand::Findings => self.show_findings()?,
                PromptCommand::Back => self.back(at, rest)?,
                PromptCommand::Note => self.note(at, rest)?,
                PromptCommand::HandOver => self.hand_over(at, rest)?,
                PromptCommand::Leave => return Err(self.leave("left")),
                PromptCommand::Stop => return Err(self.stop(at, rest)),
                PromptCommand::End => self.end(at)?,
            }
        }
    }

    /// Whether the answer that stands at a step can be kept here, instead of another.
    fn may_keep(&self, at: &Instance, part: &QuestionPart) -> bool {
        let typed = self.state.step(at).is_some_and(pages::is_question);
        answers_step(part) && typed && self.state.answers.contains_key(at)
    }

    /// The answer offered here that begins as a command does: `stopped` for `stop`.
    fn looks_like(&self, command: &str, part: &QuestionPart) -> Option<String> {
        let command = command.to_lowercase();
        let begins = |word: &&String| word.to_lowercase().starts_with(&command);
        let chosen = matches!(part, QuestionPart::Answer | QuestionPart::Ended);
        self.offered.iter().find(begins).filter(|_| chosen).cloned()
    }

    /// Takes one line, trimmed, which may be empty. Only Ctrl-C and the end of input are seen to, and mean the same at every
    /// prompt.
    pub(crate) fn line(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &QuestionPart,
        completions: Completions,
    ) -> Prompted<String> {
        let mut question = Question::new(prompt, &at.step, part.clone())
            .about(&self.state, at)
            .completing(completions);
        question.may_be_recalled &= self.may_be_recalled;
        match self.prompter.ask(&question)? {
            Reply::Said(said) => Ok(said.trim().to_owned()),
            Reply::Interrupted => Err(self.leave("Ctrl-C")),
            Reply::Closed => Err(self.leave("the terminal went away")),
        }
    }

    /// One line that a command asks for; empty where the command is cancelled.
    fn command_line(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &QuestionPart,
    ) -> Prompted<String> {
        let said = self.line(at, prompt, part, Completions::of([CANCEL]))?;
        Ok(if said.eq_ignore_ascii_case(CANCEL) {
            String::new()
        } else {
            said
        })
    }

    /// In which units quantities are shown from here on: both, or the run's own.
    fn show_units(&mut self, which: &str) -> Prompted<()> {
        match which {
            "both" => self.state.one_unit = false,
            "one" => self.state.one_unit = true,
            _ => {}
        }
        let own = self.unit().symbol;
        let text = if self.state.one_unit {
            format!("Lengths are shown in {own}. `units both` shows both units.")
        } else {
            format!("Lengths are shown in both units. `units one` shows {own} alone.")
        };
        Ok(self.prompter.show(&Page::new().toned(Tone::Quiet, text))?)
    }

    /// Records that the run is left.
    pub(crate) fn pause(&mut self, how: &str) -> Result<(), WalkError> {
        self.must_commit(&Command::Pause {
            how: how.to_owned(),
        })?;
        Ok(())
    }

    /// Leaves the run to be resumed.
    pub(crate) fn leave(&mut self, how: &str) -> Ending {
        let left = if self.state.open_stop.is_some() {
            self.leave_unexplained(how)
        } else {
            self.leave_question(how)
        };
        match left {
            Ok(()) => Ending::Leave(Left::Saved),
            Err(error) => error.into(),
        }
    }

    fn leave_question(&mut self, how: &str) -> Result<(), WalkError> {
        self.pause(how)?;
        if self.state.begun.rehearsal {
            let text = "The rehearsal ends here: a practice mill is not stored.";
            let page = Page::new().gap().toned(Tone::Strong, text);
            return Ok(self.prompter.show(&page)?);
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
        Ok(self.prompter.show(&page)?)
    }

    /// Shows why a command does nothing here.
    fn not_now(&mut self, why: &str) -> Prompted<()> {
        Ok(self.prompter.show(&Page::new().toned(Tone::Look, why))?)
    }

    fn note(&mut self, at: &Instance, text: &str) -> Prompted<()> {
        let text = if text.is_empty() {
            let next = format!("Type the note, or `{CANCEL}`.");
            self.prompter.show(&Page::new().next(next))?;
            self.command_line(at, "note", &QuestionPart::Note)?
        } else {
            text.to_owned()
        };
        if text.is_empty() {
            return self.not_now("Nothing noted.");
        }
        self.must_commit(&Command::Note { text })?;
        let page = Page::new().toned(Tone::Quiet, "Noted.");
        Ok(self.prompter.show(&page)?)
    }

    /// Goes back to the question before, or to a named step; stays where there is none to go back to.
    fn back(&mut self, at: &Instance, step: &str) -> Prompted<()> {
        if self.state.cutting.is_some() {
            return self.not_now("A cut is under way; first say how it ended.");
        }
        if self.state.out_of_service.is_some() {
            let text = "The machine is out of service; nothing is answered before it is put back.";
            return self.not_now(text);
        }
        let target = if step.is_empty() {
            pages::question_before(&self.state, at)
        } else {
            self.state
                .asked()
                .iter()
                .map(crate::interlock::sequence::SequencePosition::instance)
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
            return self.not_now(&text);
        }
        if let Some(of) = target.as_ref().filter(|of| self.state.is_from_program(of)) {
            let program = self.state.program_step().unwrap_or_default();
            let text = format!(
                "`{}` is read in the program, not typed. `back {program}` gives another file.",
                of.step
            );
            return self.not_now(&text);
        }
        if target.is_none() {
            let text = if step.is_empty() {
                "There is no question before this one that can still be changed.".to_owned()
            } else {
                format!("There is no answered step `{step}` that can still be changed.")
            };
            return self.not_now(&text);
        }
        self.back_to = target;
        Err(Ending::Next)
    }

    fn hand_over(&mut self, at: &Instance, to: &str) -> Prompted<()> {
        let to = if to.is_empty() {
            let text = format!("To whom? Type their initials, or `{CANCEL}`.");
            self.prompter.show(&Page::new().next(text))?;
            self.command_line(at, "initials", &QuestionPart::Operator)?
        } else {
            to.to_owned()
        };
        let from = self.state.operator.clone();
        if to.is_empty() || initials(&to).as_ref() == Some(&from) {
            return self.not_now(&format!("{from} has the run, as before."));
        }
        if !self.identify(&to)? {
            return Ok(());
        }
        let command = |reason| Command::HandOver {
            to: to.clone(),
            elsewhere: Elsewhere {
                others: Vec::new(),
                reason,
            },
        };
        let mut decided = self.commit(&command(None))?;
        if let Committed::Refused(refusal @ Refusal::AlsoInUse { .. }) = &decided {
            let Some(reason) = self.reason(at, refusal)? else {
                return Ok(());
            };
            decided = self.commit(&command(Some(reason)))?;
        }
        match decided {
            Committed::Stored(_) => {
                let page = Page::new().toned(
                    Tone::Strong,
                    format!(
                        "Handed over from {from} to {}. {}",
                        self.state.operator,
                        self.asked_again()
                    ),
                );
                self.prompter.show(&page)?;
                self.show_second_signer()?;
                self.adapt_words()?;
                self.heading = None;
                Err(Ending::Next)
            }
            Committed::Refused(refusal) => {
                let why = refusal.words(&self.show());
                Ok(self.refuse(at, &to, &why)?)
            }
        }
    }

    /// What a new operator is asked again, in words: what others answered for their own person.
    pub(crate) fn asked_again(&self) -> String {
        let standings = self.state.answer_statuses(self.now());
        let others = |standing: &AnswerStatus| matches!(standing, AnswerStatus::OtherPerson { .. });
        match standings.iter().filter(|(_, s)| others(s)).count() {
            0 => "No answer becomes invalid; what is signed is signed again.".to_owned(),
            1 => "One answer was for the person who gave it, and is asked again.".to_owned(),
            n => format!("{n} answers were for the person who gave them, and are asked again."),
        }
    }

    /// Gives the run up, after the word is typed a second time.
    fn end(&mut self, at: &Instance) -> Prompted<()> {
        if self.state.cutting.is_some() {
            return self.not_now("A cut is under way; first say how it ended.");
        }
        let text = format!(
            "This gives the run up for good; a new one begins at the first question. Type `give up` to do it, or `{CANCEL}`."
        );
        self.prompter.show(&Page::new().toned(Tone::Look, text))?;
        let part = QuestionPart::Other("give up".to_owned());
        let said = self.command_line(at, "give up", &part)?;
        if !said.eq_ignore_ascii_case("give up") {
            return self.not_now("Not given up; the run goes on.");
        }
        self.must_commit(&Command::End {
            outcome: crate::interlock::event::Outcome::Abandoned,
        })?;
        self.prompter
            .show(&Page::new().toned(Tone::Strong, "The run is given up. Its record stays."))?;
        Err(Ending::Leave(Left::Abandoned))
    }

    /// Shows every reason to hold cycle start, with what clears each.
    pub(crate) fn show_holds(&mut self) -> Result<(), WalkError> {
        let seen = self.seen();
        let show = self.show();
        let people = self.people()?;
        let holds = match gate::start(&self.state, self.now(), seen, &people, Requester::Holder) {
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
        Ok(self.prompter.show(&page)?)
    }
}

/// Whether a prompt asks for what answers a step, and not for what a command or a limit needs on the way.
fn answers_step(part: &QuestionPart) -> bool {
    match part {
        QuestionPart::Answer
        | QuestionPart::Point(_)
        | QuestionPart::Machine(_)
        | QuestionPart::Zeroed(_)
        | QuestionPart::ReadBack
        | QuestionPart::Before
        | QuestionPart::Initials(_) => true,
        QuestionPart::Code(_)
        | QuestionPart::Accept
        | QuestionPart::Started
        | QuestionPart::Ended
        | QuestionPart::Cause
        | QuestionPart::Kept
        | QuestionPart::Earlier
        | QuestionPart::Service
        | QuestionPart::Resume
        | QuestionPart::Operator
        | QuestionPart::Note
        | QuestionPart::Other(_) => false,
    }
}

/// Asks which was meant, where a line is a command and the beginning of an answer.
fn ask_back(command: PromptCommand, said: &str, answer: &str) -> String {
    let again = if command == PromptCommand::Stop {
        "If something is wrong, stop the machine at the machine, then type"
    } else {
        "For the command, type"
    };
    format!(
        "`{said}` may be the answer `{answer}` or a command. For the answer, type `{answer}`. {again} `{said}` again."
    )
}
