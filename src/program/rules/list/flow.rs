//! Flow control, a macro or a call that is not followed.

use crate::program::rules::rule::{Rule, unsure};

/// What it is.
pub const RULE: Rule = unsure(
    "flow",
    "flow control, a macro or a call that is not followed",
    "which blocks run, and how often, is decided on the control; nothing after it can be vouched for",
    "post the program without it, or have the program proven on the machine in air",
);
