//! One block: a line's words, with their places.

use super::fault::{Fault, FaultKind};
use super::number::Value;

/// A word: a letter and its value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Word {
    /// In upper case.
    pub letter: u8,
    /// Its value.
    pub value: Value,
    /// First byte in the line.
    pub start: u32,
    /// One past its last byte.
    pub end: u32,
}

/// A line, read. Kept and filled again for each line, so that reading allocates nothing.
#[derive(Clone, Debug, Default)]
pub struct Block {
    /// All words but N and O, in their order.
    pub words: Vec<Word>,
    /// `#n=` settings, which take effect after the line.
    pub assignments: Vec<(u32, Option<f64>)>,
    /// What is wrong.
    pub faults: Vec<Fault>,
    /// The N word.
    pub number: Option<u32>,
    /// The O word, or a colon with digits.
    pub label: Option<u32>,
    /// The first comment's bytes.
    pub comment: Option<(u32, u32)>,
    /// It begins with a stroke.
    pub deletable: bool,
    /// It is a percent sign and nothing else.
    pub percent: bool,
    /// Some number was not read, or a word was lost: what the block does is not known.
    pub lost: bool,
}

impl Block {
    /// Empties it.
    pub fn clear(&mut self) {
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

    /// Notes something wrong at a place.
    pub fn fault(&mut self, kind: FaultKind, start: usize, end: usize) {
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        self.faults.push(Fault {
            kind,
            span: small(start)..small(end.max(start + 1)),
        });
    }

    /// Notes something wrong that loses a word.
    pub fn lose(&mut self, kind: FaultKind, start: usize, end: usize) {
        self.lost = true;
        self.fault(kind, start, end);
    }

    /// Whether nothing is in it.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
            && self.assignments.is_empty()
            && self.faults.is_empty()
            && self.label.is_none()
            && !self.percent
    }
}
