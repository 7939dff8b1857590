//! The terminal: what is shown to the person, and what the person types.
//!
//! `screen` turns pages into text for the terminal at hand; `prompt` asks questions and waits beside a cut. Nothing else
//! writes to the terminal or reads from it.

pub mod prompt;
pub mod screen;
