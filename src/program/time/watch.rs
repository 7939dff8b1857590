//! The time of a followed program.

use super::dynamics::{Dynamics, along};
use super::planner::{Piece, Planner};
use crate::program::arc::Arc;
use crate::program::fact::Fact;
use crate::program::happening::{Happening, What};
use crate::program::motion::{Motion, MotionKind};
use crate::program::observer::Observer;
use crate::program::setting::Spindle;

/// How long a program runs. Times in seconds, at an override of 100 %.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Estimate {
    /// Length over feed, and over the rapid rate for rapids: what it takes without speeding up and slowing down, waits
    /// included.
    pub plain: f64,
    /// With the machine's accelerations, waits included: the likely time.
    pub likely: f64,
    /// The same with twice the accelerations: the least.
    pub least: f64,
    /// The same with half the accelerations: the most.
    pub most: f64,
    /// What of it is waiting: dwells, tool changes, the spindle coming up to speed.
    pub waits: f64,
    /// Length of all cuts, mm.
    pub cutting: f64,
    /// Length of all rapids, mm.
    pub rapid: f64,
    /// How often the program stops for somebody (M0, M60); that time is not in here.
    pub stops: u32,
    /// Moves and waits whose time is not known, and the line of the first.
    pub untimed: Option<(u32, u32)>,
}

/// Watches a program's motions and waits.
#[derive(Clone, Debug)]
pub struct TimeWatch {
    machine: Dynamics,
    planner: Planner,
    estimate: Estimate,
    rapid_before: Option<bool>,
    turning: bool,
    ended: bool,
}

impl TimeWatch {
    /// On this machine; nothing where its figures cannot be reckoned with.
    pub fn new(machine: Dynamics) -> Option<Self> {
        machine.is_sound().then(|| Self {
            machine,
            planner: Planner::new(machine.deviation(machine.path)),
            estimate: Estimate::default(),
            rapid_before: None,
            turning: false,
            ended: false,
        })
    }

    /// The estimate.
    pub fn finish(self) -> Estimate {
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

    /// Directions at both ends and the acceleration along an arc, which pulls on both axes of its plane.
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
                let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
                if length <= 0.0 {
                    return;
                }
                let way = d.map(|v| v / length);
                let acceleration = along(way, self.machine.acceleration);
                (length, way, way, acceleration, None)
            }
        };
        let speed = if rapid {
            along(enter, self.machine.rapid)
        } else {
            match motion.feed.known() {
                Some(feed) if feed > 0.0 => {
                    (feed / 60.0).min(self.machine.highest_feed.unwrap_or(f64::INFINITY))
                }
                _ => {
                    self.untimed(motion.at.line);
                    return;
                }
            }
        };
        self.estimate.plain += length / speed;
        if rapid {
            self.estimate.rapid += length;
        } else {
            self.estimate.cutting += length;
        }
        let by_blocks = self
            .machine
            .block_rate
            .map_or(f64::INFINITY, |rate| length * rate);
        self.planner.push(&Piece {
            length,
            enter,
            leave,
            speed: speed.min(by_blocks),
            acceleration,
            radius,
        });
    }

    fn happening(&mut self, happening: &Happening<'_>) {
        if self.ended {
            return;
        }
        match happening.what {
            What::Dwell(Fact::Known(seconds)) => self.wait(seconds.max(0.0)),
            What::Dwell(_) | What::Lost(_) | What::MachineMove => self.untimed(happening.at.line),
            What::ToolChange(..) => {
                self.turning = false;
                self.wait(self.machine.tool_change);
            }
            What::Spindle(Spindle::Stopped) => self.turning = false,
            What::Spindle(_) => {
                if !std::mem::replace(&mut self.turning, true) {
                    self.wait(self.machine.spin_up);
                }
            }
            What::Path(path) => self.planner.corners(self.machine.deviation(path)),
            What::Stop => {
                self.estimate.stops += 1;
                self.planner.stop();
            }
            What::End(_) => self.ended = true,
            _ => {}
        }
    }
}
