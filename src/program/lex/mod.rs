//! Bytes to words. No byte is passed over in silence: each belongs to a word, a comment, a blank or a fault.
//!
//! Our own, since a checker must not lose a word: general readers swallow the rest of a file after a comment that is
//! not closed, drop words with a trailing point, or give up at the first oddity. A line is looked at once, its end found
//! on the way; nothing is allocated for a clean line.

pub mod comment;
pub mod label;
pub mod line;
pub mod parameter;
pub mod word;

#[cfg(test)]
mod checks;

pub use line::{LONGEST_LINE, line};
