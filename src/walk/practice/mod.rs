//! Practice behind the walk: the same questions, with the virtual mill beside each of them.
//!
//! `PracticePrompter` stands between the walk and the person: what begins with `m` goes to the mill, all else to the walk. The
//! walk knows nothing of it but that the run is a rehearsal.

pub mod debrief;
pub mod demo;
mod invented;
pub mod prompter;
pub mod readout;
pub mod run;
pub mod scores;
mod touching;
pub mod truth;

pub use prompter::{Hand, PracticePrompter};
