//! NC programs in ISO 6983 / RS-274 word address format, read word by word and followed motion by motion.
//!
//! Nothing is guessed. Every modal group starts unset, and everything that a block which is not understood may have
//! changed is unknown from there on; the line that caused it is stored with it. Bytes come through [`source::Source`];
//! this module does no input or output, and its memory does not grow with the program.

pub mod active;
pub(crate) mod arc;
pub mod block;
mod circle;
pub(crate) mod codes;
mod coordinates;
pub(crate) mod coverage;
pub(crate) mod cycle;
mod decode;
pub(crate) mod detail;
pub mod dialect;
pub mod examine;
pub mod expr;
pub(crate) mod fact;
mod fast_path;
pub(crate) mod fault;
pub(crate) mod finding;
pub(crate) mod follow;
pub mod lex;
pub mod lines;
pub(crate) mod machine;
mod modal;
pub(crate) mod motion;
pub(crate) mod moves;
pub(crate) mod number;
pub(crate) mod observer;
mod once;
pub(crate) mod picture;
pub(crate) mod program_event;
pub mod rules;
pub mod setting;
pub mod setup;
pub mod source;
pub mod study;
pub mod time;
pub mod vouched;

#[cfg(test)]
mod fast_path_tests;
#[cfg(test)]
mod planted_list;
#[cfg(test)]
mod planted_mistakes;
#[cfg(test)]
mod semantics;
#[cfg(test)]
mod testing;
