//! What can be asked of a person, and what can come back.

use super::assist::Completions;
use super::randomness;
use crate::interlock::answer::Origin;
use crate::interlock::gate::PracticeCleared;
use crate::interlock::{Event, Instance, State};
use crate::keys::Secret;
use crate::report::page::Page;
use crate::terminal::screen::{self, Style, StyleInputs};
use std::fmt;
use std::io;
use std::time::Duration;

/// Which part of a step a question is about. A step may ask several: each point of a touch-off, then the read-back.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum QuestionPart {
    /// The step's own answer: a reading, a choice, a response.
    Answer,
    /// The readout at a named point.
    Point(String),
    /// The machine coordinate at a named point.
    Machine(String),
    /// Whether the readout was zeroed at a named point.
    Zeroed(String),
    /// What the control shows after a value was entered.
    ReadBack,
    /// What was there before a value was entered.
    Before,
    /// The signer's initials, in a role where there are several.
    Initials(Option<String>),
    /// The code shown then and there; holds the code, so that replies from a file can give it back.
    Code(String),
    /// Whether a value past a soft limit is accepted, by whom and why.
    Accept,
    /// That the machine was started.
    Started,
    /// How a cut or a wait ended.
    Ended,
    /// Why something was stopped.
    Cause,
    /// Whether the machine stayed as it was while the run was left.
    Kept,
    /// Which answers of earlier runs stand.
    Earlier,
    /// Whether a machine out of service is put back, by whom and why.
    Service,
    /// What to do with an open run.
    Resume,
    /// Who is at the control.
    Operator,
    /// The words of a note.
    Note,
    /// Anything else, by name.
    Other(String),
}

impl QuestionPart {
    /// Whether the answer is a value of the work: no initials, no code, and no words in which a secret may stand.
    pub(crate) fn may_be_recalled(&self) -> bool {
        match self {
            Self::Answer
            | Self::Point(_)
            | Self::Machine(_)
            | Self::Zeroed(_)
            | Self::ReadBack
            | Self::Before
            | Self::Ended
            | Self::Cause => true,
            Self::Initials(_)
            | Self::Code(_)
            | Self::Accept
            | Self::Started
            | Self::Kept
            | Self::Earlier
            | Self::Service
            | Self::Resume
            | Self::Operator
            | Self::Note
            | Self::Other(_) => false,
        }
    }
}

impl fmt::Display for QuestionPart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Answer => f.write_str("answer"),
            Self::Point(point) => write!(f, "reading at {point}"),
            Self::Machine(point) => write!(f, "machine coordinate at {point}"),
            Self::Zeroed(point) => write!(f, "zeroed at {point}"),
            Self::ReadBack => f.write_str("read-back"),
            Self::Before => f.write_str("value before"),
            Self::Initials(None) => f.write_str("initials"),
            Self::Initials(Some(role)) => write!(f, "initials of the {role}"),
            Self::Code(_) => f.write_str("code"),
            Self::Accept => f.write_str("acceptance"),
            Self::Started => f.write_str("started"),
            Self::Ended => f.write_str("how it ended"),
            Self::Cause => f.write_str("why it was stopped"),
            Self::Kept => f.write_str("whether the machine stayed as it was"),
            Self::Earlier => f.write_str("which earlier answers stand"),
            Self::Service => f.write_str("whether the machine is put back in service"),
            Self::Resume => f.write_str("resume"),
            Self::Operator => f.write_str("operator"),
            Self::Note => f.write_str("note"),
            Self::Other(name) => f.write_str(name),
        }
    }
}

/// Names a question, for desks that answer from a list.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct QuestionKey {
    /// The id of the step.
    pub step: String,
    /// Which part of it.
    pub part: QuestionPart,
}

impl QuestionKey {
    /// A question of a step.
    pub(crate) fn new(step: impl Into<String>, part: QuestionPart) -> Self {
        Self {
            step: step.into(),
            part,
        }
    }
}

impl fmt::Display for QuestionKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "step `{}`, {}", self.step, self.part)
    }
}

/// A question whose text has been shown as a page already.
#[derive(Debug, Clone)]
pub struct Question<'a> {
    /// What stands before the cursor, at most 20 columns, without the `> ` that follows it: `reading in mm`. A longer one
    /// is printed on a line of its own, because a prompt that wraps tears the figures being typed.
    pub prompt: &'a str,
    /// Which question it is.
    pub key: QuestionKey,
    /// What Tab completes.
    pub completions: Completions,
    /// Whether the answer may be recalled at later questions, once it is taken; never what proves who somebody is.
    pub may_be_recalled: bool,
    /// What it is about, where a run asks it.
    pub about: Option<About<'a>>,
}

/// What a question of a run is about, as values: for a desk that answers by them and reads no page.
#[derive(Debug, Clone, Copy)]
pub struct About<'a> {
    /// The run.
    pub state: &'a State,
    /// The asking.
    pub at: &'a Instance,
}

impl<'a> Question<'a> {
    /// A question of a step.
    pub fn new(prompt: &'a str, step: impl Into<String>, part: QuestionPart) -> Self {
        Self {
            prompt,
            may_be_recalled: part.may_be_recalled(),
            key: QuestionKey::new(step, part),
            completions: Completions::default(),
            about: None,
        }
    }

    /// The same with what Tab completes.
    #[must_use]
    pub(crate) fn completing(mut self, completions: Completions) -> Self {
        self.completions = completions;
        self
    }

    /// The same question, asked by a run.
    #[must_use]
    pub(crate) fn about(self, state: &'a State, at: &'a Instance) -> Self {
        Self {
            about: Some(About { state, at }),
            ..self
        }
    }
}

/// What a reply was taken as.
#[derive(Debug, Clone, Copy)]
pub enum Taken<'a> {
    /// These events of the run.
    Recorded(&'a [Event]),
    /// The machine of a run that is to begin.
    Machine(&'a str),
    /// Something else.
    Otherwise,
}

/// What came back from a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// What was typed, without its line end; may be empty.
    Said(String),
    /// Ctrl-C, or the program was told to end: save and leave, status 130.
    Interrupted,
    /// End of input: Ctrl-D, or the terminal hung up. Nobody is there.
    Closed,
}

/// What came back from a question whose answer is not shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SecretReply {
    /// What was typed; may be empty.
    Typed(Secret),
    /// As for [`Reply::Interrupted`].
    Interrupted,
    /// As for [`Reply::Closed`].
    Closed,
}

/// A wait beside the machine.
#[derive(Debug, Clone)]
pub struct Wait<'a> {
    /// What goes on: `roughing pass 2`.
    pub title: &'a str,
    /// How long it should take, where known.
    pub expected: Option<Duration>,
    /// When the wait ends by itself; without it only the person ends it.
    pub limit: Option<Duration>,
    /// How long it has gone on already. Expected time, limit and elapsed time count from its beginning.
    pub before: Duration,
}

/// How a wait ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WaitEnd {
    /// The person pressed Enter.
    Enter {
        /// How long the wait took, by a clock that only runs forward.
        elapsed: Duration,
        /// What was typed before Enter, mostly nothing; `stop` should be heeded.
        said: String,
    },
    /// The limit was reached.
    Reached,
    /// Ctrl-C, or the program was told to end.
    Interrupted,
    /// Nobody is there any more.
    Closed,
}

/// Why the desk could not do its work. Not what the person said: that is a `Reply`.
#[derive(Debug, thiserror::Error)]
pub enum PromptError {
    /// A stream that must be a terminal is none, so nobody can be asked.
    #[error("{stream} is not a terminal, so questions cannot be asked there")]
    NoTerminal {
        /// `standard input` or `standard error`.
        stream: &'static str,
    },
    /// A PIN was to come from a file.
    #[error(
        "a PIN or pass phrase is typed at a terminal and nowhere else; in a book with registered people an answers file cannot sign"
    )]
    NoSecret,
    /// The terminal failed.
    #[error("the terminal failed while {doing}")]
    Terminal {
        /// What was being done: `showing a page`.
        doing: &'static str,
        /// What the system says.
        #[source]
        source: io::Error,
    },
    /// Ctrl-C cannot be caught.
    #[error("Ctrl-C cannot be caught, so a run could not be paused safely: {reason}")]
    Signals {
        /// What the system says.
        reason: String,
    },
    /// The system gives no random numbers.
    #[error("no random numbers to be had from the system: {reason}")]
    Chance {
        /// What the system says.
        reason: String,
    },
    /// Replies come from a file, and file and questions disagree.
    #[error("{0}")]
    Disagrees(String),
    /// Replies come from a file, and only a person at the machine can answer.
    #[error("{0}")]
    NotForFile(String),
    /// Replies come from a list and none is left, or none is named, for this question.
    #[error("no reply for {key}")]
    Unanswered {
        /// The question.
        key: QuestionKey,
    },
}

/// The person, or whoever stands in.
pub trait Prompter {
    /// Shows a page. A reader that has gone away is no error; the next question finds out.
    fn show(&mut self, page: &Page) -> Result<(), PromptError>;

    /// How many lines of the window `page` leaves free. Without a window: of 24 lines of 80 columns.
    fn lines_left(&self, page: &Page) -> usize {
        screen::lines_left(page, &Style::decide(&StyleInputs::default()))
    }

    /// Asks one question and takes one line. Nothing typed before the prompt appeared is taken.
    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError>;

    /// Asks for a PIN or pass phrase: nothing that is typed is shown. Refused by every desk that is not a terminal, since
    /// a PIN stands in no file, no argument and no environment.
    fn secret(&mut self, _prompt: &str) -> Result<SecretReply, PromptError> {
        Err(PromptError::NoSecret)
    }

    /// Fills a buffer with random bytes for a key.
    fn random(&mut self, buffer: &mut [u8]) -> Result<(), PromptError> {
        randomness::system(buffer)
    }

    /// Waits beside the machine until Enter, the limit, or the end.
    fn watch(&mut self, watch: &Wait<'_>) -> Result<WaitEnd, PromptError>;

    /// The numbers 0 to n - 1 in an order that cannot be foreseen.
    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, PromptError>;

    /// Tells that the reply just given was not taken, and why. The reason was shown; only a desk that reads from a list
    /// has to do something about it.
    fn refused(&mut self, _why: &str) -> Result<(), PromptError> {
        Ok(())
    }

    /// Tells that the reply just given was taken.
    fn taken(&mut self, _as: Taken<'_>) -> Result<(), PromptError> {
        Ok(())
    }

    /// Where the answers come from.
    fn origin(&self) -> Origin {
        Origin::Terminal
    }

    /// Cycle start of the practice mill is released. Takes the permission itself; only a desk with such a mill beside it
    /// has to do something about it.
    fn practise(&mut self, _permitted: &PracticeCleared) {}

    /// A short code to be typed back, that nobody can have typed ahead: `CODE_LENGTH` capitals out of [`crate::keys::CODE_LETTERS`].
    fn code(&mut self) -> Result<String, PromptError>;
}
