//! Sorts the words of a block by letter and its codes by group, and reports words that do not belong together.

use super::block::{Block, Word};
use super::codes::{Group, group, m_group};
use super::dialect::NoPoint;
use super::fact::{Cause, UnknownReason};
use super::fault::{Fault, FaultKind};
use super::machine::Machine;
use super::motion::FileLocation;
use super::number::Value;
use super::observer::Observer;

/// The letters that are axes here.
pub(super) const AXES: [u8; 3] = [b'X', b'Y', b'Z'];
pub(super) const XYZ: u32 = bit(b'X') | bit(b'Y') | bit(b'Z');
/// The letters whose values are dimensions.
const DIMENSIONS: u32 = XYZ | bit(b'I') | bit(b'J') | bit(b'K') | bit(b'R') | bit(b'Q');

pub(super) const fn bit(letter: u8) -> u32 {
    1 << letter.wrapping_sub(b'A').wrapping_rem(32)
}

/// Whether one of two motion codes is G80 and the other a move. NISTIR 6556 has both in one group; controls with the
/// cycles in a group of their own accept both (from memory). Either way no cycle remains active, and the move takes
/// effect.
fn only_cancels(one: u16, other: u16) -> bool {
    let moves = |code: u16| matches!(code, 0 | 10 | 20 | 30);
    one == 800 && moves(other) || other == 800 && moves(one)
}

/// The words of a block by letter, and its codes.
pub(super) struct Decoded<'b> {
    pub(super) words: &'b [Word],
    pub(super) mask: u32,
    index: [u8; 26],
    g: [u16; 24],
    pub(super) g_count: usize,
    m: [u16; 8],
    pub(super) m_count: usize,
    pub(super) used: u32,
}

impl Decoded<'_> {
    pub(super) fn word(&self, letter: u8) -> Option<&Word> {
        if self.mask & bit(letter) == 0 {
            return None;
        }
        let index = self.index.get(usize::from(letter.wrapping_sub(b'A')))?;
        self.words.get(usize::from(*index))
    }

    pub(super) fn take(&mut self, letter: u8) -> Option<Word> {
        self.used |= bit(letter);
        self.word(letter).copied()
    }

    fn g(&self) -> &[u16] {
        self.g.get(..self.g_count).unwrap_or_default()
    }

    pub(super) fn m(&self) -> &[u16] {
        self.m.get(..self.m_count).unwrap_or_default()
    }

    pub(super) fn has_m(&self, code: u16) -> bool {
        self.m().contains(&code)
    }

    pub(super) fn of(&self, wanted: Group) -> Option<u16> {
        self.g()
            .iter()
            .copied()
            .find(|code| group(*code) == Some(wanted))
    }

    /// The motion code; where G80 is in the same block, the other one.
    pub(super) fn motion_code(&self) -> Option<u16> {
        let motion = |code: &u16| group(*code) == Some(Group::Motion);
        let mut codes = self.g().iter().copied().filter(motion);
        let first = codes.next()?;
        Some(if first == 800 {
            codes.next().unwrap_or(first)
        } else {
            first
        })
    }

    pub(super) fn axes(&self) -> bool {
        self.mask & XYZ != 0
    }
}

/// Reports a fault at a word, or at the whole line.
pub(super) fn fault<O: Observer>(
    kind: FaultKind,
    word: Option<&Word>,
    at: FileLocation<'_>,
    observer: &mut O,
) {
    let whole = 0..u32::try_from(at.text.len()).unwrap_or(u32::MAX);
    let span = word.map_or(whole, |w| w.start..w.end);
    observer.fault(&Fault { kind, span }, at);
}

impl Machine<'_> {
    /// Sorts the words of a block.
    #[inline]
    pub(super) fn decode<'b, O: Observer>(
        &mut self,
        block: &'b Block,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> Decoded<'b> {
        let mut decoded = Decoded {
            words: &block.words,
            mask: 0,
            index: [0; 26],
            g: [0; 24],
            g_count: 0,
            m: [0; 8],
            m_count: 0,
            used: 0,
        };
        for (index, word) in block.words.iter().enumerate() {
            match word.letter {
                b'G' => self.decode_g(word, &mut decoded, at, observer),
                b'M' => self.decode_m(word, &mut decoded, at, observer),
                letter => {
                    let bit = bit(letter);
                    if decoded.mask & bit != 0 {
                        fault(FaultKind::RepeatedWord, Some(word), at, observer);
                        self.lose(UnknownReason::BlockInError, at, observer);
                    }
                    decoded.mask |= bit;
                    if let Some(slot) = decoded
                        .index
                        .get_mut(usize::from(letter.wrapping_sub(b'A')))
                    {
                        *slot = u8::try_from(index).unwrap_or(u8::MAX);
                    }
                    if bit & DIMENSIONS != 0 {
                        self.point(word, at, observer);
                    }
                }
            }
        }
        decoded
    }

    fn point<O: Observer>(&mut self, word: &Word, at: FileLocation<'_>, observer: &mut O) {
        let Value::Exact(number) = word.value else {
            return;
        };
        // Zero is zero in every unit and every reading.
        if number.mantissa == 0 {
            return;
        }
        if !number.has_point && self.dialect.no_point == NoPoint::Forbid {
            fault(FaultKind::PointMissing, Some(word), at, observer);
        }
        self.points[usize::from(number.has_point)] = true;
        if self.points == [true, true] && !self.points_said && !self.dialect.no_point_said {
            self.points_said = true;
            fault(FaultKind::MixedPoints, Some(word), at, observer);
        }
    }

    fn decode_g<O: Observer>(
        &mut self,
        word: &Word,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let code = word.value.tenfold();
        if code.is_some_and(|c| self.dialect.harmless_g.contains(&c)) {
            return;
        }
        let Some((code, of)) = code.and_then(|c| Some((c, group(c)?))) else {
            fault(FaultKind::UnknownG, Some(word), at, observer);
            self.lose(UnknownReason::UnknownWord, at, observer);
            // From here on any coordinate may mean something else.
            self.lost = self.lost.or(Some(Cause {
                line: at.line,
                why: UnknownReason::UnknownWord,
            }));
            return;
        };
        if matches!(code, 700 | 710) {
            fault(FaultKind::OldUnits, Some(word), at, observer);
        }
        // G53 is active for its block only, and no block may combine it with another code of its group.
        let clash = decoded
            .g()
            .iter()
            .any(|c| group(*c) == Some(of) && *c != code && !only_cancels(*c, code));
        if clash || decoded.g_count >= decoded.g.len() {
            fault(FaultKind::Conflict, Some(word), at, observer);
            if of == Group::Motion {
                self.lose(UnknownReason::BlockInError, at, observer);
            } else {
                // It is unknown which of the two codes the control uses, so neither is carried out.
                let count = decoded.g_count;
                for code in decoded.g.iter_mut().take(count) {
                    if group(*code) == Some(of) {
                        *code = u16::MAX;
                    }
                }
                self.lose_all(UnknownReason::BlockInError, at, observer);
            }
            return;
        }
        if let Some(slot) = decoded.g.get_mut(decoded.g_count) {
            *slot = code;
            decoded.g_count += 1;
        }
    }

    fn decode_m<O: Observer>(
        &mut self,
        word: &Word,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let whole = word.value.tenfold().filter(|c| c % 10 == 0).map(|c| c / 10);
        if whole.is_some_and(|c| self.dialect.harmless.contains(&c)) {
            return;
        }
        let Some((code, of)) = whole.and_then(|c| Some((c, m_group(c)?))) else {
            fault(FaultKind::UnknownM, Some(word), at, observer);
            self.lose(UnknownReason::UnknownWord, at, observer);
            return;
        };
        if decoded.m_count >= 4 {
            fault(FaultKind::ManyM, Some(word), at, observer);
            if decoded.m_count >= decoded.m.len() {
                self.lose(UnknownReason::BlockInError, at, observer);
                return;
            }
        }
        if decoded.m().iter().any(|c| m_group(*c) == Some(of)) {
            fault(FaultKind::Conflict, Some(word), at, observer);
            self.lose(UnknownReason::BlockInError, at, observer);
            return;
        }
        if let Some(slot) = decoded.m.get_mut(decoded.m_count) {
            *slot = code;
            decoded.m_count += 1;
        }
    }

    #[cold]
    pub(super) fn unused<O: Observer>(
        &mut self,
        decoded: &Decoded<'_>,
        unused: u32,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        for word in decoded.words {
            if word.letter == b'G' || word.letter == b'M' || unused & bit(word.letter) == 0 {
                continue;
            }
            if b"HDPLQRIJKXYZ".contains(&word.letter) {
                fault(FaultKind::UnusedWord, Some(word), at, observer);
            } else {
                fault(FaultKind::UnknownLetter, Some(word), at, observer);
                self.lose(UnknownReason::UnknownWord, at, observer);
            }
        }
    }
}
