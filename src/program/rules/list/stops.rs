//! Stops for the operator.

use crate::program::finding::Found;
use crate::program::happening::Happening;
use crate::program::happening::What;
use crate::program::rules::rule::{Rule, note};

/// What it is.
pub const RULE: Rule = note(
    "stops",
    "stops for the operator",
    "the program waits for cycle start in the middle",
    "know where, and why",
);

/// Where the program stops.
pub fn happening(happening: &Happening<'_>, found: &mut Found) {
    let code = match happening.what {
        What::Stop => "M0",
        What::OptionalStop => "M1",
        _ => return,
    };
    found.add(&RULE, happening.at, None, || code.to_owned());
}
