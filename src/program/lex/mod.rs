//! Turns bytes into words. No byte is skipped without a report: each belongs to a word, a comment, a blank or a fault.
//!
//! Written here and not taken from a library, because a checker must not lose a word: general readers swallow the rest
//! of a file after an open comment, drop words with a trailing decimal point, or give up at the first oddity. A line is
//! read once, and its end is found on the way; a line without faults allocates nothing.

pub(crate) mod comment;
pub(crate) mod label;
pub mod line;
pub(crate) mod parameter;
pub(crate) mod word;

#[cfg(test)]
mod checks;

pub use line::{LONGEST_LINE, line};
