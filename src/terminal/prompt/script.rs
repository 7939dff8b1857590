//! A desk for tests: replies from a list, pages kept as text.

use super::ask::{
    PromptError, Prompter, Question, QuestionKey, QuestionPart, Reply, SecretReply, Wait, WaitEnd,
};
use super::randomness::CODE_LENGTH;
use crate::keys::CODE_LETTERS;
use crate::keys::Secret;
use crate::report::page::Page;
use crate::terminal::screen::{Style, render};
use std::collections::VecDeque;
use std::time::Duration;

/// One thing the scripted person does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ScriptedAction {
    /// Types this and Enter.
    Say(String),
    /// Types the code this desk last gave out, as a person does who reads it off the screen.
    SayCode,
    /// Presses Ctrl-C, in a question or a wait.
    Interrupt,
    /// Goes away.
    Close,
    /// Waits beside the machine this long, then presses Enter.
    Wait(Duration),
    /// Waits until the limit.
    WaitOut,
}

impl From<&str> for ScriptedAction {
    fn from(said: &str) -> Self {
        Self::Say(said.to_owned())
    }
}

/// What was asked, in order: the question and its prompt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedQuestion {
    /// The question.
    pub key: QuestionKey,
    /// Its prompt.
    pub prompt: String,
}

/// A scripted person. Questions and waits take the next cue; none left, or one that does not fit, is `Unanswered`, so a
/// walk that asks more than the test foresaw fails there instead of hanging. Orders are the plain one and codes are counted
/// up, so that runs repeat exactly.
///
/// ```
/// use skimgate::terminal::prompt::{Question, Prompter, QuestionPart, Reply, ScriptedPrompter};
/// use skimgate::report::page::Page;
///
/// let mut prompter = ScriptedPrompter::new(["-0.12"]);
/// prompter.show(&Page::new().text("Touch P2.")).unwrap();
/// let reply = prompter.ask(&Question::new("reading in mm", "corners", QuestionPart::Point("P2".into())));
/// assert_eq!(reply.unwrap(), Reply::Said("-0.12".into()));
/// assert_eq!(prompter.seen(), "Touch P2.\n");
/// ```
#[derive(Debug, Default)]
pub struct ScriptedPrompter {
    cues: VecDeque<ScriptedAction>,
    pages: Vec<String>,
    asked: Vec<AskedQuestion>,
    watched: Vec<String>,
    codes: usize,
    code: String,
}

impl ScriptedPrompter {
    /// A person who will do these things.
    pub fn new<C: Into<ScriptedAction>>(cues: impl IntoIterator<Item = C>) -> Self {
        Self {
            cues: cues.into_iter().map(Into::into).collect(),
            ..Self::default()
        }
    }

    /// Adds a cue at the end.
    #[must_use]
    pub fn then(mut self, cue: impl Into<ScriptedAction>) -> Self {
        self.cues.push_back(cue.into());
        self
    }

    /// The pages shown so far, each narrated at 80 columns.
    pub fn pages(&self) -> &[String] {
        &self.pages
    }

    /// Everything shown so far in one piece.
    pub fn seen(&self) -> String {
        self.pages.concat()
    }

    /// What was asked so far.
    pub fn asked(&self) -> &[AskedQuestion] {
        &self.asked
    }

    /// The titles of the waits so far.
    pub fn watched(&self) -> &[String] {
        &self.watched
    }

    /// The cues not used yet.
    pub fn left(&self) -> usize {
        self.cues.len()
    }
}

impl Prompter for ScriptedPrompter {
    fn show(&mut self, page: &Page) -> Result<(), PromptError> {
        self.pages.push(render(page, &Style::plain(80)));
        Ok(())
    }

    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError> {
        self.asked.push(AskedQuestion {
            key: ask.key.clone(),
            prompt: ask.prompt.to_owned(),
        });
        match self.cues.pop_front() {
            Some(ScriptedAction::Say(said)) => Ok(Reply::Said(said)),
            Some(ScriptedAction::SayCode) => Ok(Reply::Said(self.code.clone())),
            Some(ScriptedAction::Interrupt) => Ok(Reply::Interrupted),
            Some(ScriptedAction::Close) => Ok(Reply::Closed),
            Some(ScriptedAction::Wait(_) | ScriptedAction::WaitOut) | None => {
                Err(PromptError::Unanswered {
                    key: ask.key.clone(),
                })
            }
        }
    }

    fn secret(&mut self, prompt: &str) -> Result<SecretReply, PromptError> {
        match self.cues.pop_front() {
            Some(ScriptedAction::Say(said)) => Ok(SecretReply::Typed(Secret::new(said))),
            Some(ScriptedAction::Interrupt) => Ok(SecretReply::Interrupted),
            Some(ScriptedAction::Close) => Ok(SecretReply::Closed),
            Some(ScriptedAction::SayCode | ScriptedAction::Wait(_) | ScriptedAction::WaitOut)
            | None => Err(PromptError::Unanswered {
                key: QuestionKey::new(prompt, QuestionPart::Other("PIN".to_owned())),
            }),
        }
    }

    fn watch(&mut self, watch: &Wait<'_>) -> Result<WaitEnd, PromptError> {
        self.watched.push(watch.title.to_owned());
        let enter = |elapsed, said| Ok(WaitEnd::Enter { elapsed, said });
        match self.cues.pop_front() {
            Some(ScriptedAction::Wait(elapsed))
                if watch.limit.is_none_or(|limit| elapsed < limit) =>
            {
                enter(elapsed, String::new())
            }
            Some(ScriptedAction::Wait(_)) => Ok(WaitEnd::Reached),
            Some(ScriptedAction::WaitOut) if watch.limit.is_some() => Ok(WaitEnd::Reached),
            Some(ScriptedAction::Say(said)) => enter(Duration::ZERO, said),
            Some(ScriptedAction::Interrupt) => Ok(WaitEnd::Interrupted),
            Some(ScriptedAction::Close) => Ok(WaitEnd::Closed),
            Some(ScriptedAction::SayCode | ScriptedAction::WaitOut) | None => {
                Err(PromptError::Unanswered {
                    key: QuestionKey::new(watch.title, QuestionPart::Ended),
                })
            }
        }
    }

    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, PromptError> {
        Ok((0..n).collect())
    }

    fn code(&mut self) -> Result<String, PromptError> {
        let mut rest = self.codes;
        self.codes += 1;
        self.code = (0..CODE_LENGTH)
            .filter_map(|_| {
                let letter = CODE_LETTERS.chars().nth(rest % 16);
                rest /= 16;
                letter
            })
            .collect();
        Ok(self.code.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::{ScriptedAction, ScriptedPrompter};
    use crate::terminal::prompt::ask::{
        PromptError, Prompter, Question, QuestionPart, Reply, Wait, WaitEnd,
    };
    use std::time::Duration;

    #[test]
    fn a_code_is_given_back_and_the_next_one_differs() {
        let mut prompter = ScriptedPrompter::default()
            .then(ScriptedAction::SayCode)
            .then(ScriptedAction::SayCode);
        let ask = Question::new("code", "sign", QuestionPart::Answer);
        let first = prompter.code().unwrap();
        assert_eq!(prompter.ask(&ask).unwrap(), Reply::Said(first.clone()));
        let second = prompter.code().unwrap();
        assert_ne!(first, second);
        assert_eq!(prompter.ask(&ask).unwrap(), Reply::Said(second));
    }

    #[test]
    fn a_question_nobody_foresaw_is_named() {
        let mut prompter = ScriptedPrompter::default();
        let error = prompter
            .ask(&Question::new(
                "reading",
                "corners",
                QuestionPart::Point("P3".into()),
            ))
            .unwrap_err();
        assert!(matches!(error, PromptError::Unanswered { .. }));
        assert_eq!(
            error.to_string(),
            "no reply for step `corners`, reading at P3"
        );
        assert_eq!(prompter.asked().len(), 1);
    }

    #[test]
    fn a_wait_ends_at_the_limit_at_the_latest() {
        let minute = Duration::from_secs(60);
        let mut prompter = ScriptedPrompter::new([
            ScriptedAction::Wait(minute),
            ScriptedAction::Wait(minute * 3),
            ScriptedAction::Interrupt,
        ]);
        let watch = Wait {
            title: "warm-up",
            expected: None,
            limit: Some(minute * 2),
        };
        let enter = WaitEnd::Enter {
            elapsed: minute,
            said: String::new(),
        };
        assert_eq!(prompter.watch(&watch).unwrap(), enter);
        assert_eq!(prompter.watch(&watch).unwrap(), WaitEnd::Reached);
        assert_eq!(prompter.watch(&watch).unwrap(), WaitEnd::Interrupted);
        assert_eq!(prompter.left(), 0);
    }
}
