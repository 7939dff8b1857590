//! A code or letter that is not understood.

use crate::program::rules::rule::{Rule, unsure};

/// What it is.
pub const RULE: Rule = unsure(
    "unknown-code",
    "a code or letter that is not understood",
    "it may change anything; nothing after it can be vouched for",
    "look it up in the control's manual; a code that changes nothing can be named harmless in the shop file",
);
