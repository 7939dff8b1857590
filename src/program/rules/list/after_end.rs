//! Words after the end of the program.

use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "after-end",
    "words after the end of the program",
    "a control never reads them; often they are what is left of another program, and the file may not be the one that was meant",
    "find out what they belong to, and take them out",
);
