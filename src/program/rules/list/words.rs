//! Words and codes that cannot stand so.

use crate::program::rules::rule::{Rule, look, stop, unsure};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "bad-word",
        "characters that make no word",
        "controls differ in what they then do, and a number or a whole word is missing from the block",
        "write the word anew",
    ),
    stop(
        "conflict",
        "codes that exclude each other in one block",
        "two codes of one group, or axis words claimed twice: controls refuse the block or take either",
        "write them in two blocks, in the order that is meant",
    ),
    stop(
        "missing-word",
        "a code without the word it needs, or with a value it cannot take",
        "controls refuse the block, or take an old value",
        "add the word or mend the value",
    ),
    stop(
        "no-motion",
        "axis words without a motion code",
        "the axes move as the program before left it, at the rapid rate perhaps",
        "say G0 or G1 in the block",
    ),
    stop(
        "repeated-word",
        "a letter twice in a block",
        "controls refuse the block, or take either",
        "leave the one that is meant",
    ),
    unsure(
        "unknown-code",
        "a code or letter that is not understood",
        "it may change anything; nothing after it can be vouched for",
        "look it up in the control's manual; a code that changes nothing can be named harmless in the shop file",
    ),
    look(
        "unused-word",
        "a word that nothing in its block uses",
        "it was meant to do something; a code is missing or wrong",
        "add the code or take the word out",
    ),
];
