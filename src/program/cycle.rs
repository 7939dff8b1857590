//! Drilling cycles, carried out as the motions that they stand for (NISTIR 6556, 3.5.16).

use super::decode::{AXES, Decoded, bit, fault};
use super::fact::{Cause, StateFact, UnknownReason};
use super::fault::FaultKind;
use super::machine::Machine;
use super::motion::{Coord, FileLocation, MotionKind};
use super::observer::Observer;
use super::program_event::ProgramEventKind;
use super::setting::{Plane, Retract};

/// The words that one block of a cycle passes on to the next.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct CycleWords {
    number: u8,
    bottom: Option<Coord>,
    r: Option<Coord>,
    peck: Option<f64>,
}

/// Most repeats and pecks in one block that are reported one by one.
const MOST: u32 = 10_000;
/// Height above the last depth to which a peck retracts, mm (NISTIR 6556, 3.5.16.3, leaves it to the control: 0.010
/// inch).
const CLEARANCE: f64 = 0.254;

impl Machine<'_> {
    pub(super) fn cycle<O: Observer>(
        &mut self,
        number: u8,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        decoded.used |=
            bit(b'R') | bit(b'P') | bit(b'Q') | bit(b'L') | bit(b'I') | bit(b'J') | bit(b'K');
        self.report(ProgramEventKind::Cycle(number), at, observer);
        let plane = self.setting.plane.known().unwrap_or(Plane::Xy);
        let [first, second, axis] = plane.axes();
        let unknown = |why| StateFact::Unknown(Cause { line: at.line, why });
        let followed = matches!(number, 73 | 81 | 82 | 83 | 85 | 89);
        if !followed {
            fault(FaultKind::NotFollowed, None, at, observer);
            self.targets(decoded, at.line);
            self.at = [unknown(UnknownReason::UnknownWord); 3];
            return;
        }
        let mut sticky = self.sticky;
        if sticky.number != number {
            sticky = CycleWords {
                number,
                ..CycleWords::default()
            };
        }
        let incremental = self.incremental();
        let here = self.at.get(axis).copied().unwrap_or_default();
        if let Some(word) = decoded.take(b'R') {
            sticky.r = Some(self.target(axis, &word, at.line));
        }
        let letter = AXES.get(axis).copied().unwrap_or(b'Z');
        let level = sticky.r.unwrap_or_default();
        if let Some(word) = decoded.take(letter) {
            // In G91 the depth counts from R.
            sticky.bottom = Some(if incremental {
                match (level, self.length(&word, at.line)) {
                    (StateFact::Known(r), StateFact::Known(depth)) => StateFact::Known(r + depth),
                    (StateFact::Known(_), other) | (other, _) => other,
                }
            } else {
                self.target(axis, &word, at.line)
            });
        }
        if let Some(word) = decoded.take(b'Q') {
            sticky.peck = self.length(&word, at.line).known();
        }
        self.sticky = sticky;
        let (Some(r), Some(bottom)) = (sticky.r, sticky.bottom) else {
            fault(FaultKind::MissingWord, None, at, observer);
            self.targets(decoded, at.line);
            self.at = [unknown(UnknownReason::BlockInError); 3];
            return;
        };
        let pecks = matches!(number, 73 | 83);
        if pecks && sticky.peck.is_none_or(|q| q <= 0.0) {
            fault(FaultKind::MissingWord, None, at, observer);
        }
        let repeats = match decoded.take(b'L') {
            Some(word) => word.value.whole().unwrap_or(1),
            None => 1,
        };
        if repeats > MOST {
            fault(FaultKind::TooMuch, None, at, observer);
            self.lose(UnknownReason::BlockInError, at, observer);
            return;
        }
        // Z first moves up to R where it is below R.
        if let (StateFact::Known(z), StateFact::Known(level)) = (here, r)
            && z < level
        {
            self.along(axis, r, MotionKind::Rapid, at, observer);
        }
        let old = self.at.get(axis).copied().unwrap_or_default();
        for _ in 0..repeats {
            let mut to = self.at;
            for flat in [first, second] {
                let word = AXES.get(flat).and_then(|l| decoded.word(*l)).copied();
                if let (Some(word), Some(place)) = (word, to.get_mut(flat)) {
                    *place = self.target(flat, &word, at.line);
                }
            }
            decoded.used |= decoded.mask & (bit(b'X') | bit(b'Y') | bit(b'Z'));
            self.go(MotionKind::Rapid, to, None, at, observer);
            self.along(axis, r, MotionKind::Rapid, at, observer);
            if pecks {
                self.peck(number, axis, r, bottom, at, observer);
            } else {
                self.along(axis, bottom, MotionKind::Feed, at, observer);
            }
            if matches!(number, 82 | 89) {
                let seconds = decoded.word(b'P').and_then(|p| p.value.real());
                self.report(
                    ProgramEventKind::Dwell(seconds.map_or(StateFact::Unset, StateFact::Known)),
                    at,
                    observer,
                );
            }
            let up = match (self.setting.retract, old, r) {
                (StateFact::Known(Retract::R), ..) => r,
                (StateFact::Known(Retract::Start), StateFact::Known(old), StateFact::Known(r)) => {
                    StateFact::Known(old.max(r))
                }
                (StateFact::Known(Retract::Start), ..) => old,
                (StateFact::Unset, ..) => unknown(UnknownReason::UnknownWord),
                (StateFact::Unknown(cause), ..) => StateFact::Unknown(cause),
            };
            let back = if matches!(number, 85 | 89) {
                MotionKind::Feed
            } else {
                MotionKind::Rapid
            };
            self.along(axis, up, back, at, observer);
        }
    }

    fn along<O: Observer>(
        &mut self,
        axis: usize,
        place: Coord,
        kind: MotionKind,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let mut to = self.at;
        if let Some(slot) = to.get_mut(axis) {
            *slot = place;
        }
        self.go(kind, to, None, at, observer);
    }

    fn peck<O: Observer>(
        &mut self,
        number: u8,
        axis: usize,
        r: Coord,
        bottom: Coord,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let (Some(top), Some(deep), Some(step)) = (r.known(), bottom.known(), self.sticky.peck)
        else {
            return self.along(axis, bottom, MotionKind::Feed, at, observer);
        };
        let count = ((top - deep) / step).ceil();
        if step <= 0.0 || !count.is_finite() || count > f64::from(MOST) {
            return self.along(axis, bottom, MotionKind::Feed, at, observer);
        }
        let mut depth = top;
        loop {
            depth = (depth - step).max(deep);
            self.along(
                axis,
                StateFact::Known(depth),
                MotionKind::Feed,
                at,
                observer,
            );
            if depth <= deep {
                return;
            }
            if number == 83 {
                self.along(axis, r, MotionKind::Rapid, at, observer);
                let near = (depth + CLEARANCE).min(top);
                self.along(
                    axis,
                    StateFact::Known(near),
                    MotionKind::Rapid,
                    at,
                    observer,
                );
            } else {
                let near = (depth + CLEARANCE).min(top);
                self.along(
                    axis,
                    StateFact::Known(near),
                    MotionKind::Rapid,
                    at,
                    observer,
                );
            }
        }
    }
}
