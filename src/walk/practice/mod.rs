//! Practice behind the walk: the same questions, with the virtual mill beside each of them.
//!
//! `PracticePrompter` stands between the walk and the person: what begins with `m` goes to the mill, all else to the walk. The
//! walk knows nothing of it but that the run is a rehearsal.

pub(crate) mod debrief;
pub(crate) mod demo;
mod invented;
pub(crate) mod prompter;
pub(crate) mod readout;
pub(crate) mod run;
pub mod scores;
mod touching;
pub(crate) mod truth;

pub(crate) use prompter::{Hand, PracticePrompter};
