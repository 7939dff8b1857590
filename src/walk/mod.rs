//! Walking a run: asks what is next, records what is answered, and carries on where it was left.
//!
//! The only place that puts the prompter, the book, the clock and the interlock together. Nothing is shown as accepted
//! before its append has returned.
//!
//! Four rooms: `store` reads and writes the typed streams of the book, `prompts` asks one thing until it has it, `session`
//! drives a run and asks each kind of step, `practice` puts the virtual mill next to a session. `program` examines the NC
//! program for all of them.

pub(crate) mod error;
pub mod practice;
pub(crate) mod program;
pub mod prompts;
pub(crate) mod session;
pub mod store;

pub(crate) use error::WalkError;
pub use prompts::answers::Answers;
pub(crate) use session::Session;
