//! The door to the person: shows pages, asks questions, waits beside a cut.
//!
//! `Desk` is the intent, one method for each thing the walk wants of the person; `Terminal` is a person at a terminal,
//! `Script` a list of replies for tests. What comes back from a question is text as typed: what it means is decided
//! elsewhere. Three promises are kept here and nowhere else: what was typed before a question appeared does not answer it,
//! an interruption never counts as an answer, and the terminal is left as it was found.

mod ask;
mod chance;
#[cfg(unix)]
mod edit;
#[cfg(unix)]
mod keys;
mod line;
mod onlooker;
#[cfg(any(not(unix), test))]
mod portable;
mod script;
mod signals;
mod terminal;
#[cfg(unix)]
mod tty;
mod watch;

pub use ask::{About, Ask, Desk, DeskError, Hidden, Key, Part, Reply, Taken, Watch, Watched};
pub use chance::CODE_LENGTH;
pub use onlooker::Onlooker;
pub use script::{Asked, Cue, Script};
pub use terminal::Terminal;
