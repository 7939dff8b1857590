//! The prompt kit: each function asks until it has a value or the question ends.
//!
//! A question that ends otherwise ends as an error does, so that `?` leaves it from any depth. See [`Ending`].

use super::commands::{KEEP, PromptCommand};
use crate::book::BookError;
use crate::interlock::Instance;
use crate::interlock::answering::initials as as_initials;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{
    Completions, PromptError, Prompter, Question, QuestionPart, Reply, Taken,
};
use crate::walk::WalkError;
use crate::walk::session::{Left, Session};

/// Why a prompt gave no value.
#[derive(Debug)]
pub(crate) enum Ending {
    /// The question is dropped, because the person went back, handed over or keeps an old answer: what is next is looked up
    /// anew.
    Next,
    /// The run is left.
    Leave(Left),
    /// The walk cannot go on.
    Failed(WalkError),
}

/// A value that was asked for, or how the question ended without one.
pub(crate) type Prompted<T> = Result<T, Ending>;

impl From<WalkError> for Ending {
    fn from(error: WalkError) -> Self {
        Self::Failed(error)
    }
}

impl From<BookError> for Ending {
    fn from(error: BookError) -> Self {
        Self::Failed(error.into())
    }
}

impl From<PromptError> for Ending {
    fn from(error: PromptError) -> Self {
        Self::Failed(error.into())
    }
}

/// Where a prompt is asked: at a step of a run, or before there is a run.
pub(crate) trait Asker {
    /// Takes one line, trimmed, that is none of the words that work there.
    fn line(&mut self, prompt: &str, part: &QuestionPart) -> Prompted<String>;

    /// Shows why the line was not taken.
    fn refuse(&mut self, typed: &str, why: &str) -> Result<(), WalkError>;

    /// The line read as a value. At a step it counts as taken only once it is recorded.
    fn read(&mut self) -> Result<(), WalkError> {
        Ok(())
    }
}

/// At a step of a run: all words work, and what is refused is recorded.
pub(crate) struct AtStep<'s, 'a> {
    /// The run.
    pub session: &'s mut Session<'a>,
    /// The step.
    pub at: &'s Instance,
}

impl Asker for AtStep<'_, '_> {
    fn line(&mut self, prompt: &str, part: &QuestionPart) -> Prompted<String> {
        self.session.listen(self.at, prompt, part)
    }

    fn refuse(&mut self, typed: &str, why: &str) -> Result<(), WalkError> {
        self.session.refuse(self.at, typed, why)
    }
}

/// Before there is a run: who, on which machine, which run. Nothing can be recorded yet, so of the words that work at every
/// prompt only help and leaving do something; none of them is ever taken for initials.
pub(crate) struct BeforeRun<'d> {
    /// Who is asked.
    pub prompter: &'d mut dyn Prompter,
    /// What the questions belong to, for prompters that answer from a list.
    pub step: &'d str,
    completions: Completions,
    /// Whether the prompter is told of an answer as soon as it reads.
    confirms: bool,
}

impl<'d> BeforeRun<'d> {
    /// Questions of this step or subject.
    pub(crate) fn new(prompter: &'d mut dyn Prompter, step: &'d str) -> Self {
        Self {
            prompter,
            step,
            completions: Completions::of(["leave"]),
            confirms: true,
        }
    }

    /// The same where the caller says what the answer was taken as.
    #[must_use]
    pub(crate) fn confirmed_by_caller(mut self) -> Self {
        self.confirms = false;
        self
    }

    /// The same with answers that Tab completes.
    #[must_use]
    pub(crate) fn offering<'w>(mut self, words: impl IntoIterator<Item = &'w str>) -> Self {
        let words = words.into_iter().map(str::to_owned);
        self.completions.words.extend(words);
        self
    }

    fn left(&mut self) -> Ending {
        let text = "Left. Nothing was recorded by this.";
        let page = Page::new().gap().toned(Tone::Strong, text);
        match self.prompter.show(&page) {
            Ok(()) => Ending::Leave(Left::Saved),
            Err(error) => error.into(),
        }
    }
}

impl Asker for BeforeRun<'_> {
    fn line(&mut self, prompt: &str, part: &QuestionPart) -> Prompted<String> {
        loop {
            let question =
                Question::new(prompt, self.step, part.clone()).completing(self.completions.clone());
            let said = match self.prompter.ask(&question)? {
                Reply::Said(said) => said.trim().to_owned(),
                Reply::Interrupted | Reply::Closed => return Err(self.left()),
            };
            let text = match PromptCommand::read(&said) {
                Some((PromptCommand::Leave | PromptCommand::Stop | PromptCommand::End, "")) => {
                    return Err(self.left());
                }
                Some((PromptCommand::Help, "")) => {
                    "Answer the question above, or type `leave`. The other words work once a run is in hand."
                }
                Some((_, "")) => {
                    "That word works once a run is in hand. Answer the question above, or type `leave`."
                }
                _ if said.eq_ignore_ascii_case(KEEP) => {
                    "That word works once a run is in hand. Answer the question above, or type `leave`."
                }
                _ => return Ok(said),
            };
            self.prompter.show(&Page::new().toned(Tone::Look, text))?;
            self.prompter.refused(text)?;
        }
    }

    fn refuse(&mut self, _typed: &str, why: &str) -> Result<(), WalkError> {
        let page = Page::new().toned(Tone::Stop, format!("Not taken: {why}."));
        self.prompter.show(&page)?;
        Ok(self.prompter.refused(why)?)
    }

    fn read(&mut self) -> Result<(), WalkError> {
        if self.confirms {
            self.prompter.taken(Taken::Otherwise)?;
        }
        Ok(())
    }
}

/// Asks until a line reads; an error of `read` says why it does not.
pub(crate) fn until<T>(
    asker: &mut impl Asker,
    prompt: &str,
    part: &QuestionPart,
    read: impl Fn(&str) -> Result<T, String>,
) -> Prompted<T> {
    loop {
        let said = asker.line(prompt, part)?;
        match read(&said) {
            Ok(value) => {
                asker.read()?;
                return Ok(value);
            }
            Err(why) => asker.refuse(&said, &why)?,
        }
    }
}

/// One of several answers. `none` says what a line is that is none of them.
pub(crate) fn choice<T>(
    asker: &mut impl Asker,
    prompt: &str,
    part: &QuestionPart,
    read: impl Fn(&str) -> Option<T>,
    none: impl Fn(&str) -> String,
) -> Prompted<T> {
    until(asker, prompt, part, |said| {
        read(said).ok_or_else(|| none(said))
    })
}

/// A few words: a number alone says nothing.
pub(crate) fn text(asker: &mut impl Asker, prompt: &str, part: &QuestionPart) -> Prompted<String> {
    until(asker, prompt, part, |said| {
        if said.chars().any(char::is_alphabetic) {
            Ok(said.to_owned())
        } else {
            Err("say it in words".to_owned())
        }
    })
}

/// Initials, as [`initials`](crate::interlock::answering::initials) writes them.
pub(crate) fn initials(asker: &mut impl Asker, part: &QuestionPart) -> Prompted<String> {
    until(asker, "initials", part, read_initials)
}

/// A line as initials, or why it is none.
pub(crate) fn read_initials(said: &str) -> Result<String, String> {
    as_initials(said).ok_or_else(|| "initials are one to eight letters or digits".to_owned())
}
