//! A word that nothing in its block uses.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "unused-word",
    "a word that nothing in its block uses",
    "it was meant to do something; a code is missing or wrong",
    "add the code or take the word out",
);
