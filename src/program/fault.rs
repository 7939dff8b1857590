//! Faults of a program's text, and blocks that cannot be followed. Findings are made from them.

use std::ops::Range;

/// A fault in a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fault {
    /// The kind of fault, which decides the rule that it breaks.
    pub kind: FaultKind,
    /// The bytes of the line that are at fault.
    pub span: Range<u32>,
}

/// The kinds of fault. Some of them leave state unknown.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum FaultKind {
    /// A byte that no program contains: NUL, a control character, 0x80 or above, outside a comment.
    StrayByte,
    /// The same inside a comment.
    StrayByteInComment,
    /// Characters that form no word.
    NotAWord,
    /// A letter without a number.
    NoNumber,
    /// More digits than can be stored exactly.
    TooManyDigits,
    /// A comment that does not end in its line.
    OpenComment,
    /// A comment that ends before its text does.
    CommentClosedEarly,
    /// The letter O where a zero may be meant.
    LetterO,
    /// A byte order mark before the first block.
    ByteOrderMark,
    /// Text after a percent sign.
    PercentText,
    /// A second percent sign, followed by blocks that are never read.
    PercentMiddle,
    /// An N word that an earlier block has too.
    NumberRepeated,
    /// A comment inside a comment.
    NestedComment,
    /// A decimal comma.
    DecimalComma,
    /// An expression that cannot be read.
    BadExpression,
    /// An expression without a value: a division by zero, a root of a negative number.
    NoValue,
    /// A value that depends on a parameter that the program did not set.
    UnsetParameter,
    /// A line longer than 256 characters.
    LongLine,
    /// A line longer than the buffer; its words are not read.
    EndlessLine,
    /// An N word of more than five digits.
    LongNumber,
    /// An N word that is not first, or has a sign or a fraction.
    BadNumber,
    /// Line ends of more than one kind.
    MixedLineEnds,
    /// The last line has no line end, and the program has no end code either.
    CutOff,
    /// The same letter twice in a block.
    RepeatedWord,
    /// Two codes of one modal group in a block.
    Conflict,
    /// More M words than a block may have.
    ManyM,
    /// A block with two codes that both use its axis words, such as G92 with G1.
    AxisWordsTwice,
    /// A G code that is not understood.
    UnknownG,
    /// An M code that is not understood.
    UnknownM,
    /// A letter that is not understood, such as A, B, C, U, V, W.
    UnknownLetter,
    /// A word that nothing in its block uses.
    UnusedWord,
    /// A code that is understood but not followed: scaling, rotation, probing, compensation.
    NotFollowed,
    /// Flow control or a macro.
    FlowControl,
    /// A subprogram that is not in the file.
    NoSuchSubprogram,
    /// Calls nested too deep, or too many blocks.
    TooMuch,
    /// Axis words before any motion code.
    NoMotionMode,
    /// Axis words under G80.
    MotionCancelled,
    /// A code without a word that it needs.
    MissingWord,
    /// A word with a value that its code does not allow.
    BadValue,
    /// A code that is not allowed in the current state.
    NotAllowed,
    /// An arc whose radius differs between start and end by more than RS-274 allows.
    ArcMismatch,
    /// An arc whose geometry is impossible.
    ArcWrong,
    /// An impossible arc whose centre would fit as absolute coordinates.
    ArcAbsolute,
    /// An arc by radius whose ends are further apart than twice the radius, or equal.
    ArcRadius,
    /// An arc by radius near a half or a full turn: its centre is ill-conditioned.
    ArcIllConditioned,
    /// Dimensions with and without a decimal point in one program.
    MixedPoints,
    /// A number without a decimal point where the control requires one.
    PointMissing,
    /// G70 or G71 where G20 or G21 may be meant.
    OldUnits,
    /// A second percent sign is missing, or a percent sign is where none is allowed.
    Percent,
    /// Words after the end of the program.
    AfterEnd,
}
