//! A desk for tests: replies from a list, pages kept as text.

use super::ask::{Ask, Desk, DeskError, Hidden, Key, Part, Reply, Watch, Watched};
use super::chance::CODE_LENGTH;
use crate::keys::CODE_LETTERS;
use crate::keys::Secret;
use crate::report::page::Page;
use crate::screen::{Style, render};
use std::collections::VecDeque;
use std::time::Duration;

/// One thing the scripted person does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cue {
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

impl From<&str> for Cue {
    fn from(said: &str) -> Self {
        Self::Say(said.to_owned())
    }
}

/// What was asked, in order: the question and its prompt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// The question.
    pub key: Key,
    /// Its prompt.
    pub prompt: String,
}

/// A scripted person. Questions and waits take the next cue; none left, or one that does not fit, is `Unanswered`, so a
/// walk that asks more than the test foresaw fails there instead of hanging. Orders are the plain one and codes are counted
/// up, so that runs repeat exactly.
///
/// ```
/// use skimgate::desk::{Ask, Desk, Part, Reply, Script};
/// use skimgate::report::page::Page;
///
/// let mut desk = Script::new(["-0.12"]);
/// desk.show(&Page::new().text("Touch P2.")).unwrap();
/// let reply = desk.ask(&Ask::new("reading in mm", "corners", Part::Point("P2".into())));
/// assert_eq!(reply.unwrap(), Reply::Said("-0.12".into()));
/// assert_eq!(desk.seen(), "Touch P2.\n");
/// ```
#[derive(Debug, Default)]
pub struct Script {
    cues: VecDeque<Cue>,
    pages: Vec<String>,
    asked: Vec<Asked>,
    watched: Vec<String>,
    codes: usize,
    code: String,
}

impl Script {
    /// A person who will do these things.
    pub fn new<C: Into<Cue>>(cues: impl IntoIterator<Item = C>) -> Self {
        Self {
            cues: cues.into_iter().map(Into::into).collect(),
            ..Self::default()
        }
    }

    /// Adds a cue at the end.
    #[must_use]
    pub fn then(mut self, cue: impl Into<Cue>) -> Self {
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
    pub fn asked(&self) -> &[Asked] {
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

impl Desk for Script {
    fn show(&mut self, page: &Page) -> Result<(), DeskError> {
        self.pages.push(render(page, &Style::plain(80)));
        Ok(())
    }

    fn ask(&mut self, ask: &Ask<'_>) -> Result<Reply, DeskError> {
        self.asked.push(Asked {
            key: ask.key.clone(),
            prompt: ask.prompt.to_owned(),
        });
        match self.cues.pop_front() {
            Some(Cue::Say(said)) => Ok(Reply::Said(said)),
            Some(Cue::SayCode) => Ok(Reply::Said(self.code.clone())),
            Some(Cue::Interrupt) => Ok(Reply::Interrupted),
            Some(Cue::Close) => Ok(Reply::Closed),
            Some(Cue::Wait(_) | Cue::WaitOut) | None => Err(DeskError::Unanswered {
                key: ask.key.clone(),
            }),
        }
    }

    fn secret(&mut self, prompt: &str) -> Result<Hidden, DeskError> {
        match self.cues.pop_front() {
            Some(Cue::Say(said)) => Ok(Hidden::Typed(Secret::new(said))),
            Some(Cue::Interrupt) => Ok(Hidden::Interrupted),
            Some(Cue::Close) => Ok(Hidden::Closed),
            Some(Cue::SayCode | Cue::Wait(_) | Cue::WaitOut) | None => Err(DeskError::Unanswered {
                key: Key::new(prompt, Part::Other("PIN".to_owned())),
            }),
        }
    }

    fn watch(&mut self, watch: &Watch<'_>) -> Result<Watched, DeskError> {
        self.watched.push(watch.title.to_owned());
        let enter = |elapsed, said| Ok(Watched::Enter { elapsed, said });
        match self.cues.pop_front() {
            Some(Cue::Wait(elapsed)) if watch.limit.is_none_or(|limit| elapsed < limit) => {
                enter(elapsed, String::new())
            }
            Some(Cue::Wait(_)) => Ok(Watched::Reached),
            Some(Cue::WaitOut) if watch.limit.is_some() => Ok(Watched::Reached),
            Some(Cue::Say(said)) => enter(Duration::ZERO, said),
            Some(Cue::Interrupt) => Ok(Watched::Interrupted),
            Some(Cue::Close) => Ok(Watched::Closed),
            Some(Cue::SayCode | Cue::WaitOut) | None => Err(DeskError::Unanswered {
                key: Key::new(watch.title, Part::Ended),
            }),
        }
    }

    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, DeskError> {
        Ok((0..n).collect())
    }

    fn code(&mut self) -> Result<String, DeskError> {
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
    use super::{Cue, Script};
    use crate::desk::ask::{Ask, Desk, DeskError, Part, Reply, Watch, Watched};
    use std::time::Duration;

    #[test]
    fn a_code_is_given_back_and_the_next_one_differs() {
        let mut desk = Script::default().then(Cue::SayCode).then(Cue::SayCode);
        let ask = Ask::new("code", "sign", Part::Answer);
        let first = desk.code().unwrap();
        assert_eq!(desk.ask(&ask).unwrap(), Reply::Said(first.clone()));
        let second = desk.code().unwrap();
        assert_ne!(first, second);
        assert_eq!(desk.ask(&ask).unwrap(), Reply::Said(second));
    }

    #[test]
    fn a_question_nobody_foresaw_is_named() {
        let mut desk = Script::default();
        let error = desk
            .ask(&Ask::new("reading", "corners", Part::Point("P3".into())))
            .unwrap_err();
        assert!(matches!(error, DeskError::Unanswered { .. }));
        assert_eq!(
            error.to_string(),
            "no reply for step `corners`, reading at P3"
        );
        assert_eq!(desk.asked().len(), 1);
    }

    #[test]
    fn a_wait_ends_at_the_limit_at_the_latest() {
        let minute = Duration::from_secs(60);
        let mut desk = Script::new([Cue::Wait(minute), Cue::Wait(minute * 3), Cue::Interrupt]);
        let watch = Watch {
            title: "warm-up",
            expected: None,
            limit: Some(minute * 2),
        };
        let enter = Watched::Enter {
            elapsed: minute,
            said: String::new(),
        };
        assert_eq!(desk.watch(&watch).unwrap(), enter);
        assert_eq!(desk.watch(&watch).unwrap(), Watched::Reached);
        assert_eq!(desk.watch(&watch).unwrap(), Watched::Interrupted);
        assert_eq!(desk.left(), 0);
    }
}
