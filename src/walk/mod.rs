//! Walking a run: asks what is next, records what is answered, and carries on where it was left.
//!
//! The only place that puts the desk, the book, the clock and the interlock together. Nothing is shown as accepted
//! before its append has returned.

pub mod accounts;
pub mod answer_step;
pub mod answers;
pub mod begin;
pub mod cut_time;
pub mod cutting;
pub mod drive;
pub mod elsewhere;
pub mod entering;
pub mod error;
pub mod estimate;
pub mod inspecting;
pub mod keyring;
pub mod keys;
pub mod log;
pub mod mapping;
pub mod pages;
pub mod people_list;
pub mod practice;
pub mod program;
pub mod program_setup;
pub mod prompt_commands;
pub mod prompts;
pub mod questions;
pub mod recorded_answers;
pub mod refused;
pub mod released;
pub mod replay;
pub mod resume;
pub mod retry;
pub mod service;
pub mod session;
pub mod signing;
mod stopping;
pub mod takeover;
pub mod thickness;
pub mod touch_line;
pub mod touching;
pub mod waiting;
pub mod working;

pub use answers::Answers;
pub use error::WalkError;
pub use session::Session;
