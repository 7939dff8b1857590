//! Ends without lifting.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Coord;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "end-low",
    "ends without lifting",
    "the next move in X or Y drags the cutter over the plate",
    "lift Z before the end",
);

/// At the end, with the height the last motion came to and that where metal may begin.
pub fn end(last: Coord, top: f64, found: &mut Found) {
    if let Fact::Known(z) = last
        && z <= top + SAME
    {
        found.whole(&RULE, format!("at Z{z:.3}"));
    }
}
