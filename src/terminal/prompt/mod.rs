//! The door to the person: shows pages, asks questions, waits beside a cut.
//!
//! `Prompter` is the intent, one method for each thing the walk wants of the person; `Terminal` is a person at a terminal,
//! `Script` a list of replies for tests. What comes back from a question is text as typed: what it means is decided
//! elsewhere. Three promises are kept here and nowhere else: what was typed before a question appeared does not answer it,
//! an interruption never counts as an answer, and the terminal is left as it was found.

mod ask;
mod assist;
#[cfg(unix)]
mod edit;
mod interactive;
#[cfg(unix)]
mod keys;
mod line;
#[cfg(any(not(unix), test))]
mod portable;
mod randomness;
mod signals;
#[cfg(unix)]
mod tty;
mod viewer;
mod wait_display;

pub use ask::{
    About, PromptError, Prompter, Question, QuestionKey, QuestionPart, Reply, SecretReply, Taken,
    Wait, WaitEnd,
};
pub(crate) use assist::Completions;
pub use interactive::Terminal;
pub(crate) use viewer::Viewer;
