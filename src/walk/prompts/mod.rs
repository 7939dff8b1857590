//! The prompts: the kit that every question is asked with, and the words that work at every prompt.

pub mod answers;
pub mod commands;
pub mod keyring;
pub mod kit;
pub mod recorded_answers;

pub use kit::{Asker, BeforeRun, Ending, Prompted};
