//! One block: the words of a line, with their positions in it.

use super::fault::{Fault, FaultKind};
use super::number::Value;

/// A word: a letter and its value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Word {
    /// The letter, in upper case.
    pub letter: u8,
    /// The value after the letter.
    pub value: Value,
    /// Offset of the first byte in the line.
    pub start: u32,
    /// Offset just past the last byte.
    pub end: u32,
}

/// The words of one line. The same block is filled again for each line, so that reading allocates nothing.
#[derive(Clone, Debug, Default)]
pub struct Block {
    /// All words except N and O, in the order of the line.
    pub words: Vec<Word>,
    /// `#n=` assignments, which take effect after the line.
    pub assignments: Vec<(u32, Option<f64>)>,
    /// The faults found in the text.
    pub faults: Vec<Fault>,
    /// The N word.
    pub number: Option<u32>,
    /// The O word, or the digits after a colon.
    pub label: Option<u32>,
    /// Start and end of the first comment, as byte offsets in the line.
    pub comment: Option<(u32, u32)>,
    /// Whether the block begins with a slash (block delete).
    pub deletable: bool,
    /// Whether the line is a percent sign and nothing else.
    pub percent: bool,
    /// Whether a number could not be read or a word was lost, so that the effect of the block is unknown.
    pub lost: bool,
}

impl Block {
    /// Removes the content of the last line.
    pub(crate) fn clear(&mut self) {
        self.words.clear();
        self.assignments.clear();
        self.faults.clear();
        self.number = None;
        self.label = None;
        self.comment = None;
        self.deletable = false;
        self.percent = false;
        self.lost = false;
    }

    /// Records a fault at the bytes from `start` to `end`.
    pub(crate) fn fault(&mut self, kind: FaultKind, start: usize, end: usize) {
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        self.faults.push(Fault {
            kind,
            span: small(start)..small(end.max(start + 1)),
        });
    }

    /// Records a fault that loses a word.
    pub(crate) fn lose(&mut self, kind: FaultKind, start: usize, end: usize) {
        self.lost = true;
        self.fault(kind, start, end);
    }

    /// Whether the line holds no word, assignment, fault, label or percent sign.
    pub(crate) fn is_empty(&self) -> bool {
        self.words.is_empty()
            && self.assignments.is_empty()
            && self.faults.is_empty()
            && self.label.is_none()
            && !self.percent
    }
}
