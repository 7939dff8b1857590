//! The prompts: the kit that every question is asked with, and the words that work at every prompt.

pub mod commands;
pub mod kit;

pub use kit::{Asker, BeforeRun, Ending, Prompted};
