//! The time of a program, measured while it is followed.

use super::dynamics::{Dynamics, along};
use super::estimate::Estimate;
use super::planner::{PathPiece, Planner};
use crate::program::arc::Arc;
use crate::program::fact::StateFact;
use crate::program::motion::{Motion, MotionKind, Straight};
use crate::program::observer::Observer;
use crate::program::program_event::{ProgramEvent, ProgramEventKind};
use crate::program::setting::Spindle;

/// Lengths for which the square root of the square is exactly the length.
const ROOTED: std::ops::RangeInclusive<f64> = 1e-100..=1e100;

/// Follows the motions and waits of a program.
#[derive(Clone, Debug)]
pub(crate) struct TimeWatch {
    machine: Dynamics,
    planner: Planner,
    estimate: Estimate,
    rapid_before: Option<bool>,
    turning: bool,
    ended: bool,
    /// The last feed, mm/min, and its speed, mm/s.
    feed: (f64, f64),
}

impl TimeWatch {
    /// A watcher for this machine; `None` where its figures cannot be used in a computation.
    pub(crate) fn new(machine: Dynamics) -> Option<Self> {
        machine.is_sound().then(|| Self {
            machine,
            planner: Planner::new(machine.deviation(machine.path)),
            estimate: Estimate::default(),
            rapid_before: None,
            turning: false,
            ended: false,
            feed: (f64::NAN, 0.0),
        })
    }

    /// The time of all moves and waits seen, in seconds.
    pub(crate) fn finish(self) -> Estimate {
        let mut estimate = self.estimate;
        let [most, likely, least] = self.planner.finish();
        estimate.most = most + estimate.waits;
        estimate.likely = likely + estimate.waits;
        estimate.least = least + estimate.waits;
        estimate.plain += estimate.waits;
        estimate
    }

    fn untimed(&mut self, line: u32) {
        let (count, _) = self.estimate.untimed.get_or_insert((0, line));
        *count = count.saturating_add(1);
        self.planner.stop();
    }

    fn wait(&mut self, seconds: f64) {
        self.estimate.waits += seconds;
        self.planner.stop();
    }

    /// Length in mm, direction as a unit vector, and acceleration in mm/s2 of a straight line.
    #[inline]
    fn line(&self, d: [f64; 3]) -> (f64, [f64; 3], f64) {
        // Along one axis no computation is needed: the square root of the square, and a length divided by itself, are
        // exact.
        let one = |n: usize| {
            let length = d[n].abs();
            let mut way = [0.0; 3];
            way[n] = 1.0_f64.copysign(d[n]);
            (length, way, self.machine.acceleration[n])
        };
        #[allow(clippy::float_cmp)]
        let zero = d.map(|v| v == 0.0);
        match zero {
            [false, true, true] if ROOTED.contains(&d[0].abs()) => one(0),
            [true, false, true] if ROOTED.contains(&d[1].abs()) => one(1),
            _ => {
                let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
                let way = d.map(|v| v / length);
                (length, way, along(way, self.machine.acceleration))
            }
        }
    }

    /// The speed in mm/s for a feed in mm/min.
    #[inline]
    fn speed(&mut self, feed: f64) -> f64 {
        if feed.to_bits() != self.feed.0.to_bits() {
            let speed = (feed / 60.0).min(self.machine.highest_feed.unwrap_or(f64::INFINITY));
            self.feed = (feed, speed);
        }
        self.feed.1
    }

    /// Adds a piece whose speed limit is the feed or the rapid rate.
    #[inline]
    fn piece(&mut self, piece: PathPiece) {
        self.estimate.plain += piece.length / piece.speed;
        let by_blocks = self
            .machine
            .block_rate
            .map_or(f64::INFINITY, |rate| piece.length * rate);
        let speed = piece.speed.min(by_blocks);
        self.planner.push(&PathPiece { speed, ..piece });
    }

    /// Directions at both ends and the acceleration along an arc; the arc needs acceleration on both axes of its plane.
    fn bent(&self, arc: &Arc, length: f64) -> ([f64; 3], [f64; 3], f64) {
        let direction = |a: [f64; 3], b: [f64; 3]| {
            let d = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
            let long = d.iter().map(|v| v * v).sum::<f64>().sqrt().max(1e-12);
            d.map(|v| v / long)
        };
        let small = (1e-4 / length.max(1e-4)).min(0.01);
        let enter = direction(arc.point(0.0), arc.point(small));
        let leave = direction(arc.point(1.0 - small), arc.point(1.0));
        let [first, second, third] = arc.plane.axes();
        let limit = |axis: usize| self.machine.acceleration.get(axis).copied().unwrap_or(1.0);
        let mut acceleration = limit(first).min(limit(second));
        let slope = (arc.rise[1] - arc.rise[0]).abs() / length.max(1e-12);
        if slope > 1e-9 {
            acceleration = acceleration.min(limit(third) / slope);
        }
        (enter, leave, acceleration)
    }
}

impl Observer for TimeWatch {
    fn motion(&mut self, motion: &Motion<'_>) {
        if self.ended {
            return;
        }
        let rapid = motion.kind == MotionKind::Rapid;
        let Some([from, to]) = motion.ends() else {
            self.untimed(motion.at.line);
            return;
        };
        if self.rapid_before.replace(rapid).is_some_and(|b| b != rapid) {
            self.planner.stop();
        }
        let d = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
        let (length, enter, leave, acceleration, radius) = match (motion.kind, motion.arc) {
            (MotionKind::Arc, None) => {
                self.untimed(motion.at.line);
                return;
            }
            (MotionKind::Arc, Some(arc)) => {
                let length = arc.length();
                let (enter, leave, acceleration) = self.bent(arc, length);
                let radius = arc.radius.min(arc.end_radius);
                (length, enter, leave, acceleration, Some(radius))
            }
            _ => {
                let (length, way, acceleration) = self.line(d);
                if length <= 0.0 {
                    return;
                }
                (length, way, way, acceleration, None)
            }
        };
        let speed = if rapid {
            along(enter, self.machine.rapid)
        } else {
            match motion.feed.known() {
                Some(feed) if feed > 0.0 => self.speed(feed),
                _ => {
                    self.untimed(motion.at.line);
                    return;
                }
            }
        };
        if rapid {
            self.estimate.rapid += length;
        } else {
            self.estimate.cutting += length;
        }
        self.piece(PathPiece {
            length,
            enter,
            leave,
            speed,
            acceleration,
            radius,
        });
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        if self.ended {
            return;
        }
        if self.rapid_before.replace(false) == Some(true) {
            self.planner.stop();
        }
        let (from, to) = (cut.from, cut.to);
        let d = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
        let (length, way, acceleration) = self.line(d);
        if length <= 0.0 {
            return;
        }
        if cut.feed <= 0.0 || cut.feed.is_nan() {
            self.untimed(cut.at.line);
            return;
        }
        let speed = self.speed(cut.feed);
        self.estimate.cutting += length;
        self.piece(PathPiece {
            length,
            enter: way,
            leave: way,
            speed,
            acceleration,
            radius: None,
        });
    }

    fn event(&mut self, event: &ProgramEvent<'_>) {
        if self.ended {
            return;
        }
        match event.what {
            ProgramEventKind::Dwell(StateFact::Known(seconds)) => self.wait(seconds.max(0.0)),
            ProgramEventKind::Dwell(_)
            | ProgramEventKind::Lost(_)
            | ProgramEventKind::MachineMove => self.untimed(event.at.line),
            ProgramEventKind::ToolChange(..) => {
                self.turning = false;
                self.wait(self.machine.tool_change);
            }
            ProgramEventKind::Spindle(Spindle::Stopped) => self.turning = false,
            ProgramEventKind::Spindle(_) if !self.turning => {
                self.turning = true;
                self.wait(self.machine.spin_up);
            }
            ProgramEventKind::Path(path) => self.planner.corners(self.machine.deviation(path)),
            ProgramEventKind::Stop => {
                self.estimate.stops += 1;
                self.planner.stop();
            }
            ProgramEventKind::End(_) => self.ended = true,
            _ => {}
        }
    }
}
