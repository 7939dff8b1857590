//! The time of a followed program.

use super::dynamics::{Dynamics, along};
use super::planner::{Piece, Planner};
use crate::program::arc::Arc;
use crate::program::fact::Fact;
use crate::program::happening::{Happening, What};
use crate::program::motion::{Motion, MotionKind, Straight};
use crate::program::observer::Observer;
use crate::program::setting::Spindle;

/// Lengths whose square has a root that is the length itself.
const ROOTED: std::ops::RangeInclusive<f64> = 1e-100..=1e100;

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
    /// The last feed, mm/min, and the speed by it, mm/s.
    feed: (f64, f64),
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
            feed: (f64::NAN, 0.0),
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

    /// Length, direction and acceleration of a straight line.
    #[inline]
    fn line(&self, d: [f64; 3]) -> (f64, [f64; 3], f64) {
        // Along one axis nothing has to be worked out: the root of a square and a length over itself are exact.
        let one = |n: usize| {
            let length = d[n].abs();
            let mut way = [0.0; 3];
            way[n] = 1.0_f64.copysign(d[n]);
            (length, way, self.machine.acceleration[n])
        };
        #[allow(clippy::float_cmp)]
        let nought = d.map(|v| v == 0.0);
        match nought {
            [false, true, true] if ROOTED.contains(&d[0].abs()) => one(0),
            [true, false, true] if ROOTED.contains(&d[1].abs()) => one(1),
            _ => {
                let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
                let way = d.map(|v| v / length);
                (length, way, along(way, self.machine.acceleration))
            }
        }
    }

    /// The speed by a feed in mm/min.
    #[inline]
    fn speed(&mut self, feed: f64) -> f64 {
        if feed.to_bits() != self.feed.0.to_bits() {
            let speed = (feed / 60.0).min(self.machine.highest_feed.unwrap_or(f64::INFINITY));
            self.feed = (feed, speed);
        }
        self.feed.1
    }

    /// Takes in a piece whose speed is that by feed or rapid rate.
    #[inline]
    fn piece(&mut self, piece: Piece) {
        self.estimate.plain += piece.length / piece.speed;
        let by_blocks = self
            .machine
            .block_rate
            .map_or(f64::INFINITY, |rate| piece.length * rate);
        let speed = piece.speed.min(by_blocks);
        self.planner.push(&Piece { speed, ..piece });
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
        self.piece(Piece {
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
        self.piece(Piece {
            length,
            enter: way,
            leave: way,
            speed,
            acceleration,
            radius: None,
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
            What::Spindle(_) if !self.turning => {
                self.turning = true;
                self.wait(self.machine.spin_up);
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

#[cfg(test)]
mod tests {
    use super::{Estimate, TimeWatch};
    use crate::program::dialect::{Dialect, Switches};
    use crate::program::follow::follow;
    use crate::program::setting::PathMode;
    use crate::program::time::Dynamics;

    /// Invented.
    const MACHINE: Dynamics = Dynamics {
        acceleration: [500.0, 500.0, 250.0],
        rapid: [100.0, 100.0, 50.0],
        highest_feed: Some(50.0),
        path: PathMode::Continuous(None),
        corner: 0.02,
        block_rate: None,
        tool_change: 10.0,
        spin_up: 3.0,
    };

    fn time(machine: Dynamics, program: &str) -> Estimate {
        let mut watch = TimeWatch::new(machine).unwrap();
        let mut bytes = program.as_bytes();
        follow(
            &mut bytes,
            &Dialect::default(),
            Switches::default(),
            &mut watch,
        )
        .unwrap();
        watch.finish()
    }

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-6, "{found}, not {wanted}");
    }

    const START: &str = "G21 G17 G90 G94 G54\nG0 X0 Y0 Z0\n";

    // Kinematics, each move from a stop to a stop: l/v + v/a. 1200 mm/min is 20 mm/s.
    #[test]
    fn a_cut_after_a_rapid_starts_from_a_stop() {
        let found = time(MACHINE, &format!("{START}G0 X100\nG1 X200 F1200\nM30\n"));
        near(found.likely, (1.0 + 0.2) + (5.0 + 0.04));
        near(found.plain, 1.0 + 5.0);
        near(found.least, (1.0 + 0.1) + (5.0 + 0.02));
        near(found.most, (1.0 + 0.4) + (5.0 + 0.08));
        near(found.cutting, 100.0);
        // The first rapid comes from nowhere known.
        assert_eq!(found.untimed, Some((1, 2)));
    }

    // By hand: two spindle starts of 3 s (the change stops the spindle), a change of 10 s, a dwell of 2.5 s.
    #[test]
    fn waits_are_counted_once_each() {
        let program = format!("{START}M3 S1000\nS1500\nG4 P2.5\nT2 M6\nM3\nM3\nM0\nM30\nG4 P99\n");
        let found = time(MACHINE, &program);
        near(found.waits, 3.0 + 2.5 + 10.0 + 3.0);
        assert_eq!(found.stops, 1);
    }

    // Kinematics: a half circle of radius 10 at no more than sqrt(a r); feed above the machine's highest is not run.
    #[test]
    fn arcs_and_the_highest_feed_bound_the_speed() {
        let found = time(
            MACHINE,
            &format!("{START}G1 X50 F6000\nG4 P0\nG3 X70 Y0 I10 J0\nM30\n"),
        );
        let line = 50.0 / 50.0 + 50.0 / 500.0;
        let arc = 10.0 * std::f64::consts::PI / 50.0 + 50.0 / 500.0;
        near(found.likely, line + arc);
        let tight = time(MACHINE, &format!("{START}G1 F6000\nG3 X2 Y0 I1 J0\nM30\n"));
        let v = 500.0_f64.sqrt();
        near(tight.likely, (std::f64::consts::PI / v) + v / 500.0);
    }

    // By hand: Z alone has its own rate and acceleration; XY at 45 degrees goes root 2 faster than one axis.
    #[test]
    fn each_axis_keeps_its_own_limits() {
        let down = time(MACHINE, &format!("{START}G0 Z-100\nM30\n"));
        near(down.likely, 2.0 + 50.0 / 250.0);
        let slanting = time(MACHINE, &format!("{START}G0 X100 Y100\nM30\n"));
        near(slanting.likely, 1.0 + 100.0 / 500.0);
    }

    #[test]
    fn the_program_changes_how_corners_are_run() {
        let legs = "G1 X50 F3000\nY50\nX0\nM30\n";
        let stopped = time(MACHINE, &format!("{START}G61.1\n{legs}"));
        near(stopped.likely, 3.0 * (50.0 / 50.0 + 50.0 / 500.0));
        let rounded = time(MACHINE, &format!("{START}G64 P0.5\n{legs}"));
        let exact = time(MACHINE, &format!("{START}G61\n{legs}"));
        assert!(rounded.likely < exact.likely && exact.likely < stopped.likely);
    }

    // By hand: 100 blocks at 50 blocks a second are 2 s however fast the feed.
    #[test]
    fn a_slow_control_holds_up_short_blocks() {
        let blocks: Vec<String> = (1..=100)
            .map(|n| format!("X{:.2}", f64::from(n) * 0.1))
            .collect();
        let blocks = blocks.join("\n");
        let slow = Dynamics {
            block_rate: Some(50.0),
            acceleration: [1e6; 3],
            ..MACHINE
        };
        let found = time(slow, &format!("{START}G1 F3000\n{blocks}\nM30\n"));
        assert!((found.likely - 2.0).abs() < 1e-3, "{}", found.likely);
    }
}
