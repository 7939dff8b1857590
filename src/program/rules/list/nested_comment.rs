//! A comment in a comment.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "nested-comment",
    "a comment in a comment",
    "controls end a comment at the first closing bracket; what follows is then read as words",
    "write the inner brackets otherwise",
);
