//! The unit of lengths.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "no-units",
        "neither G20 nor G21 before the first dimension",
        "numbers are millimetres or inches as the program before left it",
        "say G21 or G20 in the first block",
    ),
    look(
        "old-units",
        "G70 or G71 for the units",
        "on most mills these are other codes, and the units then stay as they were",
        "write G20 or G21, or look into the control's manual",
    ),
    stop(
        "units-differ",
        "another unit than was read back",
        "all is 25.4 times too large or too small",
        "make control and program the same",
    ),
    stop(
        "units-mixed",
        "both inch and millimetre",
        "every number before and after means something else",
        "make it one unit; look for a second program in the file",
    ),
    stop(
        "units-size",
        "the cut is 25.4 times as large as the plate, or as small",
        "the unit is the likeliest slip",
        "look at G20 and G21, and at the numbers",
    ),
];
