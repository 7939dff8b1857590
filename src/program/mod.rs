//! NC programs in ISO 6983 / RS-274 word address format, read word by word and followed motion by motion.
//!
//! Nothing is guessed. Every modal group starts unset, and everything that a block which is not understood may have
//! changed is unknown from there on; the line that caused it is stored with it. Bytes come through [`source::Source`];
//! this module does no input or output, and its memory does not grow with the program.

pub mod arc;
pub mod block;
mod circle;
pub mod codes;
mod coordinates;
pub mod coverage;
pub mod cycle;
mod decode;
pub mod detail;
pub mod dialect;
pub mod examine;
pub mod expr;
pub mod fact;
mod fast_path;
pub mod fault;
pub mod finding;
pub mod follow;
pub mod lex;
pub mod lines;
pub mod machine;
mod modal;
pub mod motion;
pub mod moves;
pub mod number;
pub mod observer;
mod once;
pub mod picture;
pub mod program_event;
pub mod rules;
pub mod setting;
pub mod setup;
pub mod source;
pub mod study;
pub mod time;

#[cfg(test)]
mod fast_path_tests;
#[cfg(test)]
mod planted_mistakes;
#[cfg(test)]
mod semantics;
#[cfg(test)]
mod testing;
