//! Rules on the text of a program and on codes.

use super::rule::{Rule, look, note, stop, unsure};

/// Sorted by code.
pub const RULES: &[Rule] = &[
    look(
        "after-end",
        "words after the end of the program",
        "a control never reads them; often they are what is left of another program, and the file may not be the one that was meant",
        "find out what they belong to, and take them out",
    ),
    stop(
        "arc-absolute",
        "an arc whose centre fits only as absolute",
        "I and J count from the start of the arc unless the control is told otherwise; read so, this arc runs somewhere else",
        "post the program for incremental centres, or say in the shop file that this control takes absolute ones",
    ),
    look(
        "arc-mismatch",
        "an arc whose radius differs between start and end",
        "some controls refuse it in the middle of the cut, others blend the difference in",
        "post the program with more decimals, or with radius words",
    ),
    look(
        "arc-radius",
        "an arc by radius near a half or a full turn",
        "a rounding of the last digit moves its centre by far",
        "give I and J instead, or cut the arc in two",
    ),
    stop(
        "arc-wrong",
        "an arc that cannot be",
        "start, end and centre or radius do not belong together; controls stop in the cut, or run an arc nobody meant",
        "post the program again; look for a lost digit or sign in this block and the one before",
    ),
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
        "cut-off",
        "the file ends in the middle",
        "the last line has no end and the program none either; the rest was lost in copying",
        "copy the file again and compare the sizes",
    ),
    stop(
        "decimal-comma",
        "a decimal comma",
        "a control reads the number up to the comma, or refuses it",
        "post the program with decimal points",
    ),
    look(
        "digits",
        "more digits than a control keeps",
        "what it does with the rest is not known",
        "round to the fourth decimal",
    ),
    stop(
        "endless-line",
        "a line without end",
        "no program has such a line; its words are not read",
        "is it the right file?",
    ),
    stop(
        "expression",
        "an expression that cannot be read, or has no value",
        "the word it belongs to is not known, and so is all that follows",
        "mend the expression, or write the number",
    ),
    unsure(
        "flow",
        "flow control, a macro or a call that is not followed",
        "which blocks run, and how often, is decided on the control; nothing after it can be vouched for",
        "post the program without it, or have the program proven on the machine in air",
    ),
    note(
        "line-ends",
        "line ends of more than one kind",
        "the file was put together or sent through several systems; some controls skip or join lines",
        "write it again with one kind",
    ),
    note(
        "line-number",
        "a line number that is not in order",
        "only the search for a block on the control is in doubt",
        "number the blocks again",
    ),
    look(
        "long-line",
        "a line longer than 256 characters",
        "a control need not take more, and may cut the rest off",
        "break the line",
    ),
    stop(
        "missing-word",
        "a code without the word it needs, or with a value it cannot take",
        "controls refuse the block, or take an old value",
        "add the word or mend the value",
    ),
    look(
        "mixed-points",
        "dimensions with and without decimal point",
        "on some controls a dimension without point counts in thousandths: X10 is 0.01",
        "write all with a point, or say in the shop file how the control reads them",
    ),
    look(
        "nested-comment",
        "a comment in a comment",
        "controls end a comment at the first closing bracket; what follows is then read as words",
        "write the inner brackets otherwise",
    ),
    stop(
        "no-motion",
        "axis words without a motion code",
        "the axes move as the program before left it, at the rapid rate perhaps",
        "say G0 or G1 in the block",
    ),
    stop(
        "no-point",
        "a dimension without decimal point",
        "this control counts it in its least increment, or refuses it",
        "write the point",
    ),
    unsure(
        "not-followed",
        "a code that is understood but not followed",
        "compensation, scaling, rotation, probing and some cycles change where the cutter goes in ways not worked out here",
        "post the program without it, or have it proven on the machine in air",
    ),
    look(
        "old-units",
        "G70 or G71 for the units",
        "on most mills these are other codes, and the units then stay as they were",
        "write G20 or G21, or look into the control's manual",
    ),
    stop(
        "open-comment",
        "a comment that does not end",
        "what follows in the line is lost, on some controls the rest of the program",
        "close the bracket",
    ),
    look(
        "percent",
        "percent signs that do not make a pair",
        "a control may not take the file, or may stop reading early",
        "one before the first block and one after the last, or none",
    ),
    stop(
        "repeated-word",
        "a letter twice in a block",
        "controls refuse the block, or take either",
        "leave the one that is meant",
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
    unsure(
        "unknown-code",
        "a code or letter that is not understood",
        "it may change anything; nothing after it can be vouched for",
        "look it up in the control's manual; a code that changes nothing can be named harmless in the shop file",
    ),
    unsure(
        "unset-parameter",
        "a value from the control's memory",
        "the program never set this parameter, so what it holds is not known here",
        "set it in the program, or write the number",
    ),
    look(
        "unused-word",
        "a word that nothing in its block uses",
        "it was meant to do something; a code is missing or wrong",
        "add the code or take the word out",
    ),
];
