//! The prompts: the kit that every question is asked with, and the words that work at every prompt.

pub mod answers;
pub(crate) mod choices;
pub(crate) mod commands;
pub(crate) mod keyring;
pub(crate) mod kit;
pub(crate) mod recorded_answers;

pub(crate) use kit::{Asker, BeforeRun, Ending, Prompted};
