//! The fast path: a block of only axis words under a straight feed move, in a state that is fully known.
//!
//! Nearly all blocks of a finely cut path are of this kind. The parts of the state that they need are computed once,
//! and hold until another kind of block comes, which the control carries out word by word. Both ways must give the same
//! motions; a test compares them.

use super::block::Block;
use super::dialect::NoPoint;
use super::fact::StateFact;
use super::machine::Machine;
use super::motion::{FileLocation, Straight, point};
use super::number::Value;
use super::observer::Observer;
use super::setting::{Distance, FeedMode, Mode};

/// The parts of the state that a plain block needs.
#[derive(Clone, Copy, Debug)]
pub(super) struct FastPath {
    /// Length of one unit, mm.
    mm: f64,
    /// What is added to an axis word, mm.
    shift: [f64; 3],
    /// The position of the axes, mm.
    pub(super) at: [f64; 3],
    /// Feed, mm/min.
    feed: f64,
    /// Whether a dimension without a decimal point, and one with it, can be read as written, without a finding.
    plain: [bool; 2],
    /// Whether the motion before was made on the fast path too.
    steady: bool,
}

impl Machine<'_> {
    /// The fast path, where the state that it needs is known.
    pub(super) fn fast_path(&self) -> Option<FastPath> {
        let setting = &self.setting;
        if setting.mode != StateFact::Known(Mode::Feed)
            || setting.distance != StateFact::Known(Distance::Absolute)
            || self.lost.is_some()
            || !matches!(
                setting.feed_mode,
                StateFact::Known(FeedMode::PerMinute) | StateFact::Unset
            )
        {
            return None;
        }
        let [without, with] = self.points;
        Some(FastPath {
            mm: setting.units.known()?.mm(),
            shift: point(setting.shift)?,
            at: point(self.at)?,
            feed: setting.feed.known().filter(|f| !f.is_nan())?,
            // The control itself handles the first block of each kind.
            plain: [without && self.dialect.no_point == NoPoint::Units, with],
            steady: false,
        })
    }

    /// Carries out a block on the fast path; returns whether it could.
    #[inline]
    pub(super) fn run_on_fast_path<O: Observer>(
        &mut self,
        block: &Block,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> bool {
        let Some(fast_path) = &mut self.fast_path else {
            return false;
        };
        if !(block.faults.is_empty() && block.assignments.is_empty()) {
            return false;
        }
        let mut to = fast_path.at;
        let mut seen = 0_u32;
        for word in &block.words {
            let axis = word.letter.wrapping_sub(b'X');
            let bit = 1_u32 << (axis & 31);
            let (Value::Exact(number), Some(to), Some(shift)) = (
                word.value,
                to.get_mut(usize::from(axis)),
                fast_path.shift.get(usize::from(axis)),
            ) else {
                return false;
            };
            let [without, with] = fast_path.plain;
            let plain = if number.has_point { with } else { without };
            if seen & bit != 0 || !(plain || number.mantissa == 0) {
                return false;
            }
            seen |= bit;
            *to = shift + number.real() * fast_path.mm;
        }
        if seen == 0 {
            return false;
        }
        let cut = Straight {
            from: fast_path.at,
            to,
            feed: fast_path.feed,
            steady: fast_path.steady,
            setting: &self.setting,
            at,
        };
        fast_path.at = to;
        fast_path.steady = true;
        observer.straight(&cut);
        true
    }
}
