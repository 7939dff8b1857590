//! Turns axis words into positions: units, absolute or incremental mode, and shifts.

use super::block::Word;
use super::decode::{AXES, Decoded, XYZ};
use super::dialect::NoPoint;
use super::fact::{Cause, StateFact, UnknownReason};
use super::machine::Machine;
use super::motion::Coord;
use super::number::Value;
use super::setting::{Distance, Units};

impl Machine<'_> {
    /// The value of a dimension word in mm, before any offset is added.
    pub(super) fn length(&self, word: &Word, line: u32) -> Coord {
        let Some(mut raw) = word.value.real() else {
            return StateFact::Unknown(Cause {
                line,
                why: UnknownReason::Parameter,
            });
        };
        if let Value::Exact(number) = word.value
            && !number.has_point
            && self.dialect.no_point == NoPoint::Increments
        {
            raw *= match self.setting.units {
                StateFact::Known(Units::Inch) => 0.0001,
                _ => 0.001,
            };
        }
        match self.setting.units {
            StateFact::Known(units) => StateFact::Known(raw * units.mm()),
            StateFact::Unset => StateFact::Unknown(Cause {
                line,
                why: UnknownReason::Units,
            }),
            StateFact::Unknown(cause) => StateFact::Unknown(cause),
        }
    }

    /// The coordinate to which an axis word moves, in mm.
    #[inline]
    pub(super) fn target(&self, axis: usize, word: &Word, line: u32) -> Coord {
        if let Some(cause) = self.lost {
            return StateFact::Unknown(cause);
        }
        let length = match self.length(word, line) {
            StateFact::Known(length) => length,
            other => return other,
        };
        let other = match self.setting.distance {
            StateFact::Known(Distance::Absolute) => self.setting.shift.get(axis),
            StateFact::Known(Distance::Incremental) => self.at.get(axis),
            StateFact::Unset => {
                return StateFact::Unknown(Cause {
                    line,
                    why: UnknownReason::Distance,
                });
            }
            StateFact::Unknown(cause) => return StateFact::Unknown(cause),
        };
        match other.copied().unwrap_or_default() {
            // An expression or a computed value is rounded to a millionth of a millimetre, a tenth of what any control
            // resolves, so that the same position has the same number whichever way it was computed.
            StateFact::Known(from)
                if self.incremental() || matches!(word.value, Value::Computed(_)) =>
            {
                StateFact::Known(((from + length) * 1e6).round() / 1e6)
            }
            StateFact::Known(from) => StateFact::Known(from + length),
            StateFact::Unset => StateFact::Unknown(Cause {
                line,
                why: UnknownReason::Incremental,
            }),
            StateFact::Unknown(cause) => StateFact::Unknown(cause),
        }
    }

    /// The position to which the axis words of the block move; an axis without a word keeps its coordinate.
    #[inline]
    pub(super) fn targets(&self, decoded: &mut Decoded<'_>, line: u32) -> [Coord; 3] {
        let mut to = self.at;
        for (axis, (letter, to)) in AXES.into_iter().zip(&mut to).enumerate() {
            if let Some(word) = decoded.word(letter) {
                *to = self.target(axis, word, line);
            }
        }
        decoded.used |= XYZ & decoded.mask;
        to
    }
}
