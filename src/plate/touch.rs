//! A series of touches: turns readings into heights, and advises when to zero the readout.
//!
//! Built one reading at a time, so that it can be replayed from a record. The zero of the readout is at a known height
//! ([`Frame::zero`]); a reading r there means height = zero + r. Machine coordinates differ from heights by a constant
//! ([`Frame::origin`]). Where both columns are given they must agree: neither is corrected by the other.

use super::crosscheck::{self, ReadingColumns};
use super::heights::{Heights, PointHeight};
use super::reading::{Advice, Frame, Reading, Touch, ZeroMode};
use super::touch_error::TouchError;
use crate::quantity::{Exact, Length};

/// More touches than this in one series are refused: nobody touches that often.
pub(super) const MOST_TOUCHES: usize = 10_000;

/// A series of touches.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Series {
    mode: ZeroMode,
    tolerance: Length,
    frame: Frame,
    touches: Vec<Touch>,
    pending: bool,
}

impl Series {
    /// Begins a series in `mode` with the zeros of `frame`; with a default frame the first touch has height zero.
    pub fn new(mode: ZeroMode, frame: Frame) -> Self {
        Self {
            mode,
            tolerance: Length::ZERO,
            frame,
            touches: Vec::new(),
            pending: false,
        }
    }

    /// The same series, in which the columns agree when they differ by at most `tolerance` (zero by default).
    #[must_use]
    pub(crate) fn agreeing_within(self, tolerance: Length) -> Self {
        Self {
            tolerance: tolerance.abs(),
            ..self
        }
    }

    /// Adds one reading at `point` and computes its height.
    ///
    /// # Errors
    /// A [`TouchError`]; the series is then unchanged.
    pub fn touch(&mut self, point: &str, reading: Reading) -> Result<Touch, TouchError> {
        self.take(point, reading, false)
    }

    /// Adds the closing reading: the first point again. It does not count for the height of that point and never
    /// zeroes.
    ///
    /// # Errors
    /// A [`TouchError`]; the series is then unchanged.
    pub(crate) fn close(&mut self, reading: Reading) -> Result<Touch, TouchError> {
        let first = self.touches.first().ok_or(TouchError::NothingToClose)?;
        let point = first.point.clone();
        self.take(&point, reading, true)
    }

    /// Records that the person zeroed the readout on the advice [`Advice::ZeroHere`].
    ///
    /// # Errors
    /// [`TouchError::NoZeroAdvised`] where there was no such advice.
    pub fn zeroed(&mut self) -> Result<(), TouchError> {
        match self.touches.last_mut() {
            Some(last) if self.pending => {
                last.zeroed = true;
                self.frame.zero = Some(last.height);
                self.pending = false;
                Ok(())
            }
            _ => Err(TouchError::NoZeroAdvised),
        }
    }

    /// Records that the person left the readout alone although zeroing was advised; its zero is unchanged.
    ///
    /// # Errors
    /// [`TouchError::NoZeroAdvised`] where there was no such advice.
    #[cfg(test)]
    pub(crate) fn left(&mut self) -> Result<(), TouchError> {
        if !self.pending {
            return Err(TouchError::NoZeroAdvised);
        }
        self.pending = false;
        Ok(())
    }

    /// Removes the last reading, if the readout was not zeroed on it, and returns it.
    ///
    /// # Errors
    /// [`TouchError::NothingToFix`] or [`TouchError::AlreadyZeroed`].
    pub(crate) fn fix(&mut self) -> Result<Touch, TouchError> {
        let last = self.touches.pop().ok_or(TouchError::NothingToFix)?;
        if last.zeroed {
            let point = last.point.clone();
            self.touches.push(last);
            return Err(TouchError::AlreadyZeroed(point));
        }
        self.frame = last.before;
        self.pending = false;
        Ok(last)
    }

    fn take(&mut self, point: &str, reading: Reading, closing: bool) -> Result<Touch, TouchError> {
        if point.trim().is_empty() {
            return Err(TouchError::NoName);
        }
        if let (true, Some(last)) = (self.pending, self.touches.last()) {
            return Err(TouchError::ZeroPending(last.point.clone()));
        }
        if self.touches.len() >= MOST_TOUCHES {
            return Err(TouchError::TooMany);
        }
        let (from, height) = self.place(point, reading)?;
        let lower = from.zero.is_some_and(|zero| height < zero);
        let advice = if self.mode == ZeroMode::Running && lower && !closing {
            Advice::ZeroHere
        } else {
            Advice::Leave
        };
        let before = std::mem::replace(&mut self.frame, from);
        self.pending = advice == Advice::ZeroHere;
        let touch = Touch {
            point: point.to_owned(),
            reading,
            height,
            advice,
            closing,
            zeroed: false,
            from,
            mode: self.mode,
            before,
        };
        self.touches.push(touch.clone());
        Ok(touch)
    }

    /// The height of a reading, and the zeros that it counts from, including those that it determines.
    fn place(&self, point: &str, reading: Reading) -> Result<(Frame, Length), TouchError> {
        let far = || TouchError::TooFar(point.to_owned());
        let unplaced = || TouchError::Unplaced(point.to_owned());
        let Frame { zero, origin } = self.frame;
        let Reading { readout, machine } = reading;
        let (from, height) = if self.mode == ZeroMode::Machine {
            let machine = machine.ok_or_else(|| TouchError::NoMachine(point.to_owned()))?;
            let origin = match (origin, zero) {
                (Some(origin), _) => origin,
                (None, None) => machine,
                (None, Some(zero)) => {
                    let height = zero.plus(readout.ok_or_else(unplaced)?).ok_or_else(far)?;
                    machine.minus(height).ok_or_else(far)?
                }
            };
            let height = machine.minus(origin).ok_or_else(far)?;
            let zero = match (zero, readout) {
                (None, Some(readout)) => Some(height.minus(readout).ok_or_else(far)?),
                (zero, _) => zero,
            };
            let origin = Some(origin);
            (Frame { zero, origin }, height)
        } else {
            let readout = readout.ok_or_else(|| TouchError::NoReadout(point.to_owned()))?;
            let zero = match (zero, origin) {
                (Some(zero), _) => zero,
                (None, _) if readout != Length::ZERO => {
                    return Err(TouchError::FirstNotZero(point.to_owned(), readout));
                }
                (None, None) => Length::ZERO,
                (None, Some(origin)) => {
                    let machine = machine.ok_or_else(unplaced)?;
                    machine.minus(origin).ok_or_else(far)?
                }
            };
            let height = zero.plus(readout).ok_or_else(far)?;
            let origin = match (origin, machine) {
                (None, Some(machine)) => Some(machine.minus(height).ok_or_else(far)?),
                (origin, _) => origin,
            };
            let zero = Some(zero);
            (Frame { zero, origin }, height)
        };
        if let (Some(zero), Some(origin), Some(readout), Some(machine)) =
            (from.zero, from.origin, readout, machine)
        {
            let columns = ReadingColumns {
                zero,
                origin,
                readout,
                machine,
            };
            crosscheck::agree(columns, self.tolerance, &self.touches)
                .ok_or_else(far)?
                .map_err(|m| TouchError::Mismatch(point.to_owned(), m))?;
        }
        Ok((from, height))
    }

    /// How the readout is zeroed while the series is touched.
    pub(crate) fn mode(&self) -> ZeroMode {
        self.mode
    }

    /// The current zeros; pass them to the next series.
    pub(crate) fn frame(&self) -> Frame {
        self.frame
    }

    /// Whether zeroing was advised and is not answered yet.
    pub(crate) fn zero_pending(&self) -> bool {
        self.pending
    }

    /// Every touch in order, including closing ones.
    pub(crate) fn touches(&self) -> &[Touch] {
        &self.touches
    }

    /// The last touch: the tip is there, unless it was moved since.
    pub(crate) fn last(&self) -> Option<&Touch> {
        self.touches.last()
    }

    /// Points in the order of their first touch, each with the mean of its touches (rounded to the nearest count).
    pub fn heights(&self) -> Heights {
        let mut sums: Vec<(&str, i128, usize)> = Vec::new();
        for touch in self.touches.iter().filter(|t| !t.closing) {
            let counts = i128::from(touch.height.counts());
            match sums.iter_mut().find(|(p, ..)| *p == touch.point) {
                Some((_, sum, touches)) => {
                    *sum += counts;
                    *touches += 1;
                }
                None => sums.push((&touch.point, counts, 1)),
            }
        }
        let points = sums.into_iter().filter_map(|(point, sum, touches)| {
            // A mean is between its parts, so it is always a valid length and no point is dropped here.
            let mean = Exact::fraction(sum, i128::try_from(touches).ok()?)?.round();
            let height = Length::from_counts(i64::try_from(mean).ok()?)?;
            Some(PointHeight {
                point: point.to_owned(),
                height,
                touches,
            })
        });
        Heights::new(points.collect())
    }

    /// The height of the last closing touch minus that point's first height; `None` without a closing touch.
    pub(crate) fn drift(&self) -> Option<Length> {
        let closing = self.touches.iter().rev().find(|t| t.closing)?;
        closing.height.minus(self.touches.first()?.height)
    }

    /// Standard deviation of one touch from repeats: sqrt(sum of d² / 2n), where d are the n differences between a
    /// point's successive touches, rounded to the nearest count. `None` where no point was touched twice.
    ///
    /// Closing touches are excluded: they measure drift. Source of the formula: the usual one for duplicate
    /// measurements, from memory.
    pub(crate) fn repeatability(&self) -> Option<Length> {
        let counted: Vec<&Touch> = self.touches.iter().filter(|t| !t.closing).collect();
        let (mut squares, mut pairs) = (0_u128, 0_u128);
        for (at, touch) in counted.iter().enumerate() {
            let earlier = counted.iter().take(at).rev();
            let Some(previous) = earlier.into_iter().find(|t| t.point == touch.point) else {
                continue;
            };
            let d = u128::from(touch.height.counts().abs_diff(previous.height.counts()));
            squares = squares.checked_add(d.checked_mul(d)?)?;
            pairs += 1;
        }
        // The integer square root of four times the mean square is twice the root, rounded down: halving it rounds to
        // nearest.
        let doubled = squares.checked_mul(2)?.checked_div(pairs)?.isqrt();
        Length::from_counts(i64::try_from(doubled.div_ceil(2)).ok()?)
    }
}
