//! Bytes and lines of the file.

use crate::program::rules::rule::{Rule, look, note, stop};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    stop(
        "endless-line",
        "a line without end",
        "no program has such a line; its words are not read",
        "is it the right file?",
    ),
    note(
        "line-ends",
        "line ends of more than one kind",
        "the file was put together or sent through several systems; some controls skip or join lines",
        "write it again with one kind",
    ),
    look(
        "long-line",
        "a line longer than 256 characters",
        "a control need not take more, and may cut the rest off",
        "break the line",
    ),
    look(
        "percent",
        "percent signs that do not make a pair",
        "a control may not take the file, or may stop reading early",
        "one before the first block and one after the last, or none",
    ),
    stop(
        "stray-byte",
        "a byte that no program has",
        "the file was damaged, or saved in another form than plain text",
        "save it as plain text, or copy it again",
    ),
    note(
        "stray-byte-comment",
        "a letter in a comment that the control may not show",
        "some controls stop reading at it",
        "write the comment in plain letters",
    ),
];
