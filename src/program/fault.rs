//! Something wrong with a program's text, or that cannot be followed: raw material of the findings.

use std::ops::Range;

/// Something wrong in a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fault {
    /// What is wrong with the text, which decides the rule that it breaks.
    pub kind: FaultKind,
    /// Which bytes of the line.
    pub span: Range<u32>,
}

/// The kinds of fault. Some of them leave state unknown.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum FaultKind {
    /// A byte that no program has: NUL, a control character, 0x80 or above, outside a comment.
    StrayByte,
    /// The same inside a comment.
    StrayByteInComment,
    /// Characters that make no word.
    NotAWord,
    /// A letter without a number.
    NoNumber,
    /// More digits than are kept exactly.
    TooManyDigits,
    /// A comment that does not end in its line.
    OpenComment,
    /// A comment that ends before its text does.
    CommentClosedEarly,
    /// The letter O where a nought may be meant.
    LetterO,
    /// A mark of byte order before the first block.
    ByteOrderMark,
    /// Text behind a percent sign.
    PercentText,
    /// A second percent sign, and blocks behind it that are never read.
    PercentMiddle,
    /// An N word that stands before an earlier block as well.
    NumberRepeated,
    /// A comment inside a comment.
    NestedComment,
    /// A decimal comma.
    DecimalComma,
    /// An expression that cannot be read.
    BadExpression,
    /// An expression without a value: a division by nought, a root of a negative number.
    NoValue,
    /// A value that rests on a parameter the program did not set.
    UnsetParameter,
    /// A line longer than 256 characters.
    LongLine,
    /// A line longer than can be held; its words are not read.
    EndlessLine,
    /// An N word of more than five digits.
    LongNumber,
    /// An N word that is not first, or has a sign or a fraction.
    BadNumber,
    /// Line ends of more than one kind.
    MixedLineEnds,
    /// The last line has no end, and the program no proper end either.
    CutOff,
    /// The same letter twice in a block.
    RepeatedWord,
    /// Two codes of one modal group in a block.
    Conflict,
    /// More M words than a block may have.
    ManyM,
    /// A block that uses its axis words twice over, such as G92 with G1.
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
    /// A subprogram that the file does not hold.
    NoSuchSubprogram,
    /// Calls too deep, or too many blocks.
    TooMuch,
    /// Axis words before any motion code.
    NoMotionMode,
    /// Axis words under G80.
    MotionCancelled,
    /// A code that needs a word which is not there.
    MissingWord,
    /// A word with a value that its code does not allow.
    BadValue,
    /// A code that is not allowed in the present state.
    NotAllowed,
    /// An arc whose radius differs between start and end by more than RS-274 allows.
    ArcMismatch,
    /// An arc that is wrong altogether.
    ArcWrong,
    /// The same, and its centre would fit as absolute.
    ArcAbsolute,
    /// An arc by radius whose ends lie further apart than twice the radius, or in one place.
    ArcRadius,
    /// An arc by radius near a half or a full turn, whose centre is ill-determined.
    ArcIllConditioned,
    /// Numbers with and without a decimal point.
    MixedPoints,
    /// A number without a point where the control wants one.
    PointMissing,
    /// G70 or G71 where G20 or G21 is meant.
    OldUnits,
    /// A second percent sign is missing, or one stands where none may.
    Percent,
    /// Words after the end of the program.
    AfterEnd,
}
