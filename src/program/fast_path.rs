//! The fast lane: a block of nothing but axis words under a straight feed move, in a state that is known whole.
//!
//! Such blocks are nearly all of a finely cut path. What they ask of the state is worked out once and holds until any
//! other block comes by, which the control carries out word by word. Both ways must come to the same motions; a test
//! holds them together.

use super::block::Block;
use super::dialect::NoPoint;
use super::fact::StateFact;
use super::machine::Machine;
use super::motion::{FileLocation, Straight, point};
use super::number::Value;
use super::observer::Observer;
use super::setting::{Distance, FeedMode, Mode};

/// What of the state a plain block asks for.
#[derive(Clone, Copy, Debug)]
pub(super) struct FastPath {
    /// Millimetres in a unit.
    mm: f64,
    /// What is added to an axis word.
    shift: [f64; 3],
    /// Where the axes stand.
    pub(super) at: [f64; 3],
    /// mm/min.
    feed: f64,
    /// Whether a dimension without and with a point is a plain one, with nothing to be said of it.
    plain: [bool; 2],
    /// Whether the motion before was made in this lane too.
    steady: bool,
}

impl Machine<'_> {
    /// The lane, where the state is known as far as it asks.
    pub(super) fn lane(&self) -> Option<FastPath> {
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
            // The first of each kind is looked at by the control itself.
            plain: [without && self.dialect.no_point == NoPoint::Units, with],
            steady: false,
        })
    }

    /// Carries out a block in the lane; whether it could.
    #[inline]
    pub(super) fn in_lane<O: Observer>(
        &mut self,
        block: &Block,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> bool {
        let Some(lane) = &mut self.lane else {
            return false;
        };
        if !(block.faults.is_empty() && block.assignments.is_empty()) {
            return false;
        }
        let mut to = lane.at;
        let mut seen = 0_u32;
        for word in &block.words {
            let axis = word.letter.wrapping_sub(b'X');
            let bit = 1_u32 << (axis & 31);
            let (Value::Exact(number), Some(to), Some(shift)) = (
                word.value,
                to.get_mut(usize::from(axis)),
                lane.shift.get(usize::from(axis)),
            ) else {
                return false;
            };
            let [without, with] = lane.plain;
            let plain = if number.has_point { with } else { without };
            if seen & bit != 0 || !(plain || number.mantissa == 0) {
                return false;
            }
            seen |= bit;
            *to = shift + number.real() * lane.mm;
        }
        if seen == 0 {
            return false;
        }
        let cut = Straight {
            from: lane.at,
            to,
            feed: lane.feed,
            steady: lane.steady,
            setting: &self.setting,
            at,
        };
        lane.at = to;
        lane.steady = true;
        observer.straight(&cut);
        true
    }
}
