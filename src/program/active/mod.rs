//! The line of active codes that a control shows: its modal groups, read with the lexer of programs.

pub mod groups;
pub mod read;

#[cfg(test)]
mod checks;

pub use groups::ActiveGroup;
pub use read::{ActiveCodes, LineFault, Meaning, read};
