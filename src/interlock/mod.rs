//! The interlock: which questions are open, what a change invalidates, and whether cycle start is released.
//!
//! It is pure: [`decide::decide`] turns a command into events or a refusal, [`State::apply`] applies events to the
//! state, and the caller passes the time to both. `apply` never validates, because old records must load. `decide`
//! never reads a clock or a file. The permission to start is a [`gate::Cleared`], which only the gate can make.

pub mod answer;
pub mod answer_status;
pub(crate) mod answering;
pub(crate) mod audit;
pub mod codes;
pub mod codes_refusal;
#[cfg(test)]
mod codes_tests;
pub mod command;
#[cfg(test)]
mod command_tests;
#[cfg(test)]
mod crew;
mod custody;
mod cutting;
pub mod decide;
pub(crate) mod dependencies;
pub(crate) mod digest;
pub mod elsewhere;
pub mod event;
pub mod examined;
pub(crate) mod formula_context;
pub(crate) mod from_program;
pub mod gate;
pub(crate) mod inspection;
pub(crate) mod instance;
mod invalidation;
pub(crate) mod judge;
#[cfg(test)]
mod kinds;
#[cfg(test)]
mod name_tests;
pub(crate) mod places;
#[cfg(test)]
mod program_words;
pub(crate) mod reading;
mod recording;
pub mod refusal;
#[cfg(test)]
mod release_scenarios;
#[cfg(test)]
mod rule_tests;
#[cfg(test)]
mod scenarios;
#[cfg(test)]
mod second_signer_tests;
pub(crate) mod sequence;
pub(crate) mod service;
#[cfg(test)]
mod signers;
pub mod signing;
#[cfg(test)]
mod skin;
pub mod standing;
pub(crate) mod state;
pub(crate) mod stopping;
pub(crate) mod surface;
#[cfg(test)]
mod takeover;
#[cfg(test)]
mod testing;
pub(crate) mod timers;
#[cfg(test)]
mod touch_order;
pub mod touches;
pub mod touching;

pub(crate) use answer::Answer;
pub use answer_status::AnswerStatus;
pub use command::Command;
pub(crate) use custody::RELEASE_GONE;
pub use decide::decide;
pub use elsewhere::{Elsewhere, OpenRun, Shared};
pub use event::{Event, TimedEvent};
pub use instance::Instance;
pub use refusal::Refusal;
pub use service::OutOfService;
pub(crate) use signing::SignFault;
pub use state::State;
pub use stopping::{Cause, CutEnd, MachineContinuity};
