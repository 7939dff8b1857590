//! Ways home, and moves before the height is known.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "first-move",
        "the first move in X or Y while Z is not known",
        "the cutter may stand low, and goes through what is in the way",
        "lift Z first, in a block of its own",
    ),
    stop(
        "home-dips",
        "the way home leads down",
        "G28 and G30 go through the programmed point first: with G90, Z0 is the plane itself",
        "write G91 G28 Z0, or G53 G0 Z0",
    ),
    look(
        "home-unknown",
        "moves in X and Y after a move in machine coordinates",
        "how high the cutter then stands over the plate is not known here",
        "say a Z in the work offset first, or check the height on the machine",
    ),
];
