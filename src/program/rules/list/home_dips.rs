//! The way home leads down.

use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::height::SAME;
use crate::program::rules::rule::{Rule, stop};

/// What it is.
pub const RULE: Rule = stop(
    "home-dips",
    "the way home leads down",
    "G28 and G30 go through the programmed point first: with G90, Z0 is the plane itself",
    "write G91 G28 Z0, or G53 G0 Z0",
);

/// At the first leg of a way home; whether it goes down.
pub fn first_leg(rapid: &Motion<'_>, found: &mut Found) -> bool {
    let (from, to) = (rapid.from[2], rapid.to[2]);
    let Some(end) = to.known() else {
        return false;
    };
    let down = from != to && from.known().is_none_or(|start| end < start - SAME);
    if down {
        found.add(&RULE, rapid.at, None, || {
            format!("first to Z{end:.3} of the work offset")
        });
    }
    down
}
