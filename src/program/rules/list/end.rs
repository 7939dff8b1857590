//! How it ends.

use crate::program::rules::rule::{Rule, look, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "after-end",
        "words after the end of the program",
        "a control never reads them; often they are what is left of another program, and the file may not be the one that was meant",
        "find out what they belong to, and take them out",
    ),
    stop(
        "cut-off",
        "the file ends in the middle",
        "the last line has no end and the program none either; the rest was lost in copying",
        "copy the file again and compare the sizes",
    ),
    stop(
        "end-low",
        "ends without lifting",
        "the next move in X or Y drags the cutter over the plate",
        "lift Z before the end",
    ),
    stop(
        "no-end",
        "no M2 or M30",
        "the control stops at the end of the file with all left on, or starts again",
        "end with M30",
    ),
];
