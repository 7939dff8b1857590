//! The first move in X or Y while Z is not known.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "first-move",
    "the first move in X or Y while Z is not known",
    "the cutter may stand low, and goes through what is in the way",
    "lift Z first, in a block of its own",
);

/// At a rapid across before any other.
pub fn rapid(rapid: &Motion<'_>, found: &mut Found) {
    if rapid.to[2] == Fact::Unset {
        found.add(&RULE, rapid.at, None, String::new);
    }
}
