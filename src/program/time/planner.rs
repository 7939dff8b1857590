//! The time that axes with limited acceleration need for a path.
//!
//! Each piece is run at constant acceleration up to its speed and down again; where two pieces meet, the corner limits
//! the speed. A pass backward over the pieces bounds each joint by the speed from which the axes can still brake; a
//! pass forward bounds it by the speed that they can reach (the usual look-ahead of controls; common practice, no
//! source). Not included: jerk limits, overrides, servo lag.
//!
//! Streaming: a joint whose speed is limited by the corner, and not by the braking after it, separates the path before
//! it from the path after it, so everything before it is summed and forgotten. Where a full window has no such joint,
//! half of it is summed as if the rest ended in a stop.

use super::kinematics::{bends_freely, corner, seconds};

/// Factors on the acceleration for which the time is computed: half, as given, twice.
pub(crate) const SHARES: [f64; 3] = [0.5, 1.0, 2.0];
/// Number of pieces of the look-ahead.
const WINDOW: usize = 2048;

/// A piece of a path.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct PathPiece {
    /// Its length, mm; above zero.
    pub length: f64,
    /// Direction at its start, as a unit vector.
    pub enter: [f64; 3],
    /// Direction at its end, as a unit vector.
    pub leave: [f64; 3],
    /// Highest speed, mm/s.
    pub speed: f64,
    /// Acceleration along it, mm/s2.
    pub acceleration: f64,
    /// Radius, mm, where it is curved.
    pub radius: Option<f64>,
}

/// A piece, with the limits at its joint to the piece before.
#[derive(Clone, Copy, Debug)]
struct PlannedPiece {
    length: f64,
    leave: [f64; 3],
    acceleration: f64,
    /// Square of the speed limit from the feed.
    fast: f64,
    /// Square of the speed limit from the bend at the given acceleration; it is proportional to the acceleration.
    bend: f64,
    /// Square of the speed limit from the corner at the joint before it; it is proportional to the acceleration.
    corner: f64,
}

impl PlannedPiece {
    fn fastest(&self, share: f64) -> f64 {
        self.fast.min(self.bend * share)
    }
}

/// Adds up the time while the path is followed.
#[derive(Clone, Debug)]
pub(crate) struct Planner {
    pieces: Vec<PlannedPiece>,
    window: usize,
    /// Squares of the speeds at the start of the first stored piece.
    entry: [f64; 3],
    seconds: [f64; 3],
    /// Deviation at a corner, mm; `None` where the axes stop there.
    deviation: Option<f64>,
    stop: bool,
}

impl Planner {
    /// A planner whose axes are at rest.
    pub(crate) fn new(deviation: Option<f64>) -> Self {
        Self::with_window(WINDOW, deviation)
    }

    pub(super) fn with_window(window: usize, deviation: Option<f64>) -> Self {
        Self {
            pieces: Vec::with_capacity(window),
            window,
            entry: [0.0; 3],
            seconds: [0.0; 3],
            deviation,
            stop: true,
        }
    }

    /// Sets the deviation at corners from here on, mm; `None` for a stop at each corner.
    pub(crate) fn corners(&mut self, deviation: Option<f64>) {
        self.deviation = deviation;
    }

    /// Stops the axes before the next piece.
    pub(crate) fn stop(&mut self) {
        self.stop = true;
    }

    /// Adds the next piece.
    #[inline]
    pub(crate) fn push(&mut self, piece: &PathPiece) {
        if !(piece.length > 0.0 && piece.speed > 0.0 && piece.acceleration > 0.0) {
            return;
        }
        if !self.continues_last(piece) {
            self.part(piece);
        }
    }

    /// Whether the piece continues the last one in the same direction at the same speed, so that the two are joined.
    #[inline]
    #[allow(clippy::float_cmp)]
    fn continues_last(&mut self, piece: &PathPiece) -> bool {
        let (false, Some(deviation), Some(last)) =
            (self.stop, self.deviation, self.pieces.last_mut())
        else {
            return false;
        };
        let fast = piece.speed * piece.speed;
        let same = fast == last.fast
            && last.bend == f64::INFINITY
            && piece.radius.is_none()
            && last.acceleration == piece.acceleration
            && bends_freely(
                last.leave,
                piece.enter,
                deviation * piece.acceleration * SHARES[0],
                fast,
            );
        if same {
            last.length += piece.length;
            last.leave = piece.leave;
        }
        same
    }

    fn part(&mut self, piece: &PathPiece) {
        let acceleration = piece.acceleration;
        let mut next = PlannedPiece {
            length: piece.length,
            leave: piece.leave,
            acceleration,
            fast: piece.speed * piece.speed,
            bend: piece.radius.map_or(f64::INFINITY, |r| acceleration * r),
            corner: 0.0,
        };
        if let (false, Some(deviation), Some(last)) =
            (self.stop, self.deviation, self.pieces.last_mut())
        {
            let least = acceleration.min(last.acceleration);
            // Two pieces without a corner or a change of feed between them are one piece. This is exact, and most
            // pieces of a finely cut path are of this kind.
            #[allow(clippy::float_cmp)]
            let same = next.fast == last.fast
                && bends_freely(
                    last.leave,
                    piece.enter,
                    deviation * least * SHARES[0],
                    next.fast,
                )
                && next.bend.min(last.bend) * SHARES[0] >= next.fast
                && (acceleration - last.acceleration).abs() <= 0.01 * least;
            if same {
                last.length += next.length;
                last.leave = next.leave;
                last.acceleration = least;
                return;
            }
            next.corner = corner(last.leave, piece.enter, deviation, least);
        }
        self.stop = false;
        self.pieces.push(next);
        if self.pieces.len() >= self.window {
            self.settle(false);
        }
    }

    /// The time of everything so far, with a stop at its end: at half, full and twice the acceleration, in seconds.
    pub(crate) fn finish(mut self) -> [f64; 3] {
        self.settle(true);
        self.seconds
    }

    /// Sums and forgets the pieces whose speeds are final; with `end`, all of them.
    fn settle(&mut self, end: bool) {
        let count = self.pieces.len();
        let limits: Vec<[f64; 3]> = (0..count).map(|n| self.limits(n)).collect();
        // Squares of the speeds at the start of each piece from which the axes can still brake for the rest, and at its
        // end.
        let mut brake = vec![[0.0; 3]; count + 1];
        let mut ahead = [0.0; 3];
        let backward = self.pieces.iter().zip(&limits).zip(&mut brake);
        for ((piece, limit), slot) in backward.rev() {
            for ((ahead, limit), share) in ahead.iter_mut().zip(limit).zip(SHARES) {
                *ahead = (*ahead + 2.0 * piece.acceleration * share * piece.length).min(*limit);
            }
            *slot = ahead;
        }
        let settled = if end {
            count
        } else {
            #[allow(clippy::float_cmp)]
            let bound = (1..count).rev().find(|n| limits.get(*n) == brake.get(*n));
            bound.unwrap_or(count / 2)
        };
        for (piece, after) in self.pieces.iter().take(settled).zip(brake.iter().skip(1)) {
            for (n, share) in SHARES.iter().enumerate() {
                let (Some(from), Some(sum), Some(brake)) =
                    (self.entry.get_mut(n), self.seconds.get_mut(n), after.get(n))
                else {
                    continue;
                };
                let a = piece.acceleration * share;
                let to = brake.min(*from + 2.0 * a * piece.length);
                *sum += seconds(piece.length, *from, to, piece.fastest(*share), a);
                *from = to;
            }
        }
        self.pieces.drain(..settled);
    }

    /// Squares of the speed limits at the joint before a piece.
    fn limits(&self, number: usize) -> [f64; 3] {
        let Some(piece) = self.pieces.get(number) else {
            return [0.0; 3];
        };
        let Some(before) = number.checked_sub(1).and_then(|n| self.pieces.get(n)) else {
            return self.entry;
        };
        SHARES.map(|share| {
            (piece.corner * share)
                .min(piece.fastest(share))
                .min(before.fastest(share))
        })
    }
}
