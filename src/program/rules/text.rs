//! Rules about faults of the text, and blocks that cannot be followed. [`broken`] gives the rule for each kind of
//! fault.

use super::rule::Rule;
use crate::program::fault::FaultKind;
use crate::program::finding::FindingList;
use crate::program::rules::rule::rules;

rules! {
    look AFTER_END = "after-end" {
        title: "words after the end of the program",
        why: "a control never reads them; often they are the rest of another program, and the file may not be the intended one",
        mend: "find out what they belong to, and remove them",
    }
    stop ARC_ABSOLUTE = "arc-absolute" {
        title: "an arc whose centre fits only as absolute",
        why: "I and J count from the start of the arc unless the control is set otherwise; read in this way, the arc runs somewhere else",
        mend: "post the program for incremental centres, or state in the shop file that this control takes absolute ones",
    }
    look ARC_MISMATCH = "arc-mismatch" {
        title: "an arc whose radius differs between start and end",
        why: "some controls refuse it in the middle of the cut, others spread the difference over the arc",
        mend: "post the program with more decimals, or with radius words",
    }
    look ARC_RADIUS = "arc-radius" {
        title: "an arc by radius near a half or a full turn",
        why: "rounding the last digit moves its centre a long way",
        mend: "write I and J instead, or split the arc in two",
    }
    stop ARC_WRONG = "arc-wrong" {
        title: "an impossible arc",
        why: "start, end and centre or radius do not fit together; controls stop in the cut, or run an unintended arc",
        mend: "post the program again; look for a lost digit or sign in this block and the one before",
    }
    stop BAD_WORD = "bad-word" {
        title: "characters that form no word",
        why: "controls react differently, and a number or a whole word is missing from the block",
        mend: "write the word again",
    }
    stop CONFLICT = "conflict" {
        title: "codes that exclude each other in one block",
        why: "two codes of one group, or axis words that two codes use: controls refuse the block or take either",
        mend: "write them in two blocks, in the intended order",
    }
    stop CUT_OFF = "cut-off" {
        title: "the file ends in the middle",
        why: "the last line has no line end and the program no end code; the rest was lost in copying",
        mend: "copy the file again and compare the sizes",
    }
    stop DECIMAL_COMMA = "decimal-comma" {
        title: "a decimal comma",
        why: "a control reads the number up to the comma, or refuses it",
        mend: "post the program with decimal points",
    }
    look DIGITS = "digits" {
        title: "more digits than a control stores",
        why: "what it does with the rest is unknown",
        mend: "round to the fourth decimal",
    }
    stop ENDLESS_LINE = "endless-line" {
        title: "a line without end",
        why: "no program has such a line; its words are not read",
        mend: "check that it is the right file",
    }
    stop EXPRESSION = "expression" {
        title: "an expression that cannot be read, or has no value",
        why: "the value of its word is unknown, and so is everything that follows",
        mend: "correct the expression, or write the number",
    }
    unsure FLOW = "flow" {
        title: "flow control, a macro or a call that is not followed",
        why: "which blocks run, and how often, is decided on the control; nothing after it can be vouched for",
        mend: "post the program without it, or have the program proven on the machine in air",
    }
    note LINE_NUMBER = "line-number" {
        title: "a line number that is not in order",
        why: "only the search for a block on the control may fail",
        mend: "number the blocks again",
    }
    look LONG_LINE = "long-line" {
        title: "a line longer than 256 characters",
        why: "a control need not accept more, and may ignore the rest",
        mend: "split the line",
    }
    stop MISSING_WORD = "missing-word" {
        title: "a code without a word it needs, or with a value it cannot accept",
        why: "controls refuse the block, or use an old value",
        mend: "add the word or correct the value",
    }
    look MIXED_POINTS = "mixed-points" {
        title: "dimensions with and without a decimal point",
        why: "on some controls a dimension without a point counts in thousandths: X10 is 0.01",
        mend: "write all with a point, or state in the shop file how the control reads them",
    }
    look NESTED_COMMENT = "nested-comment" {
        title: "a comment in a comment",
        why: "controls end a comment at the first closing bracket; what follows is then read as words",
        mend: "replace the inner brackets",
    }
    unsure COMMENT_CLOSED = "comment-closed" {
        title: "a comment that ends before its text does",
        why: "a control ends a comment at the first closing bracket and reads the rest as words",
        mend: "remove the inner brackets",
    }
    note BYTE_ORDER_MARK = "byte-order-mark" {
        title: "a byte order mark before the first block",
        why: "an editor saved the file as Unicode; some controls refuse the first line",
        mend: "save the file as plain text",
    }
    stop PERCENT_MIDDLE = "percent-middle" {
        title: "a percent sign with blocks after it",
        why: "the control stops reading there; the rest of the program is never run",
        mend: "remove the percent sign, or find out what the blocks after it belong to",
    }
    note NUMBER_REPEATED = "number-repeated" {
        title: "a block number that was used before",
        why: "a restart from that number may begin at the wrong block",
        mend: "number the blocks again",
    }
    stop NO_MOTION = "no-motion" {
        title: "axis words without a motion code",
        why: "the axes move in the mode that the program before left, perhaps at the rapid rate",
        mend: "write G0 or G1 in the block",
    }
    stop NO_POINT = "no-point" {
        title: "a dimension without a decimal point",
        why: "this control counts it in its least increment, or refuses it",
        mend: "write the decimal point",
    }
    unsure NOT_FOLLOWED = "not-followed" {
        title: "a code that is understood but not followed",
        why: "compensation, scaling, rotation, probing and some cycles change where the cutter goes in ways not computed here",
        mend: "post the program without it, or have it proven on the machine in air",
    }
    note OLD_UNITS = "old-units" {
        title: "G70 or G71 for the units",
        why: "on most mills these codes mean something else, and the units stay as they were",
        mend: "write G20 or G21, or check the control's manual",
    }
    stop OPEN_COMMENT = "open-comment" {
        title: "a comment that does not end",
        why: "the rest of the line is lost, on some controls the rest of the program",
        mend: "close the bracket",
    }
    look PERCENT = "percent" {
        title: "percent signs that do not form a pair",
        why: "a control may refuse the file, or may stop reading early",
        mend: "write one before the first block and one after the last, or none",
    }
    stop REPEATED_WORD = "repeated-word" {
        title: "a letter twice in a block",
        why: "controls refuse the block, or take either of the two",
        mend: "leave only the intended one",
    }
    stop STRAY_BYTE = "stray-byte" {
        title: "a byte that does not belong in a program",
        why: "the file was damaged, or not saved as plain text",
        mend: "save it as plain text, or copy it again",
    }
    note STRAY_BYTE_COMMENT = "stray-byte-comment" {
        title: "a letter in a comment that the control may not show",
        why: "some controls stop reading at it",
        mend: "write the comment in plain letters",
    }
    unsure UNKNOWN_CODE = "unknown-code" {
        title: "a code or letter that is not understood",
        why: "it may change anything; nothing after it can be vouched for",
        mend: "look it up in the control's manual; a code that changes nothing can be named harmless in the shop file",
    }
    unsure UNSET_PARAMETER = "unset-parameter" {
        title: "a value from the control's memory",
        why: "the program never set this parameter, so its value is unknown here",
        mend: "set it in the program, or write the number",
    }
    look UNUSED_WORD = "unused-word" {
        title: "a word that nothing in its block uses",
        why: "it should do something; a code is missing or wrong",
        mend: "add the code or remove the word",
    }
}

/// Whether the file ends in the middle; then whatever is missing at its end is not a separate fault.
pub(crate) fn cut_short(found: &FindingList) -> bool {
    found.count(&CUT_OFF) + found.count(&PERCENT_MIDDLE) > 0
}

/// The rule that a kind of fault breaks, and the detail that the rule's title does not give.
pub(crate) fn broken(kind: FaultKind) -> (&'static Rule, &'static str) {
    match kind {
        FaultKind::StrayByte => (&STRAY_BYTE, ""),
        FaultKind::StrayByteInComment => (&STRAY_BYTE_COMMENT, ""),
        FaultKind::NotAWord => (&BAD_WORD, ""),
        FaultKind::NoNumber => (&BAD_WORD, "a letter without its number"),
        FaultKind::TooManyDigits => (&DIGITS, ""),
        FaultKind::OpenComment => (&OPEN_COMMENT, ""),
        FaultKind::CommentClosedEarly => (&COMMENT_CLOSED, ""),
        FaultKind::LetterO => (&BAD_WORD, "the letter O, where a zero may be meant"),
        FaultKind::ByteOrderMark => (&BYTE_ORDER_MARK, ""),
        FaultKind::PercentText => (&PERCENT, "there is text after it"),
        FaultKind::PercentMiddle => (&PERCENT_MIDDLE, ""),
        FaultKind::NumberRepeated => (&NUMBER_REPEATED, ""),
        FaultKind::NestedComment => (&NESTED_COMMENT, ""),
        FaultKind::DecimalComma => (&DECIMAL_COMMA, ""),
        FaultKind::BadExpression => (&EXPRESSION, "it cannot be read"),
        FaultKind::NoValue => (&EXPRESSION, "it has no value"),
        FaultKind::UnsetParameter => (&UNSET_PARAMETER, ""),
        FaultKind::LongLine => (&LONG_LINE, ""),
        FaultKind::EndlessLine => (&ENDLESS_LINE, ""),
        FaultKind::LongNumber => (&LINE_NUMBER, "more than five digits"),
        FaultKind::BadNumber => (&LINE_NUMBER, "it is not first, or not a plain number"),
        FaultKind::MixedLineEnds => (&super::ending::LINE_ENDS, ""),
        FaultKind::CutOff => (&CUT_OFF, ""),
        FaultKind::RepeatedWord => (&REPEATED_WORD, ""),
        FaultKind::Conflict => (&CONFLICT, ""),
        FaultKind::ManyM => (&CONFLICT, "more than four M words"),
        FaultKind::AxisWordsTwice => (&CONFLICT, "two codes use the axis words"),
        FaultKind::UnknownG => (&UNKNOWN_CODE, "this G code"),
        FaultKind::UnknownM => (&UNKNOWN_CODE, "this M code"),
        FaultKind::UnknownLetter => (&UNKNOWN_CODE, "this letter"),
        FaultKind::UnusedWord => (&UNUSED_WORD, ""),
        FaultKind::NotFollowed => (&NOT_FOLLOWED, ""),
        FaultKind::FlowControl => (&FLOW, ""),
        FaultKind::NoSuchSubprogram => (&FLOW, "this subprogram is not in the file"),
        FaultKind::TooMuch => (&FLOW, "too many repeats or calls"),
        FaultKind::NoMotionMode => (&NO_MOTION, ""),
        FaultKind::MotionCancelled => (&NO_MOTION, "G80 has cancelled it"),
        FaultKind::MissingWord => (&MISSING_WORD, "a word is missing"),
        FaultKind::BadValue => (&MISSING_WORD, "the value is invalid"),
        FaultKind::NotAllowed => (&MISSING_WORD, "it is not allowed here"),
        FaultKind::ArcMismatch => (&ARC_MISMATCH, ""),
        FaultKind::ArcWrong => (&ARC_WRONG, ""),
        FaultKind::ArcAbsolute => (&ARC_ABSOLUTE, ""),
        FaultKind::ArcRadius => (
            &ARC_WRONG,
            "the end points and the radius do not fit together",
        ),
        FaultKind::ArcIllConditioned => (&ARC_RADIUS, ""),
        FaultKind::MixedPoints => (&MIXED_POINTS, ""),
        FaultKind::PointMissing => (&NO_POINT, ""),
        FaultKind::OldUnits => (&OLD_UNITS, ""),
        FaultKind::Percent => (&PERCENT, ""),
        FaultKind::AfterEnd => (&AFTER_END, ""),
    }
}
