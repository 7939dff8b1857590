//! The virtual mill's control: where it thinks it stands, what its readout shows, what its keys set.
//!
//! It keeps two truths apart: the machine coordinates it counts, and where the spindle really is. They differ by the
//! scatter of the home switches, and by anything when it was not homed. The readout follows
//! Z work = Z machine - work offset - shift - length offset; common practice, as in the coordinate model of
//! RS274/NGC version 3 (NISTIR 6556), from memory.

use super::{Chance, MM, Nm, THOU};
use crate::quantity::UnitSystem;

/// The names of the work offsets.
pub(crate) const OFFSETS: [&str; 6] = ["G54", "G55", "G56", "G57", "G58", "G59"];

/// An axis.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Axis {
    /// Left and right.
    X,
    /// To the front and to the back.
    Y,
    /// Up and down.
    Z,
}

impl Axis {
    /// Its place in positions.
    pub(crate) fn index(self) -> usize {
        match self {
            Self::X => 0,
            Self::Y => 1,
            Self::Z => 2,
        }
    }
}

/// What the mill is like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Limits {
    /// Travel of X and Y from the home corner.
    pub travel: [Nm; 2],
    /// Lowest Z; home is nought.
    pub lowest: Nm,
    /// The smallest step its readout shows.
    pub resolution: Nm,
    /// Lowest and highest spindle speed, turns a minute.
    pub speeds: [i64; 2],
    /// How long the spindle has to run until it is warm, in seconds.
    pub warm_up: i64,
    /// Whether it has a door.
    pub door: bool,
}

/// The mill.
#[derive(Clone, PartialEq, Eq, Debug)]
#[allow(clippy::struct_excessive_bools)] // each is a switch of its own
pub struct Mill {
    /// What it is like.
    pub limits: Limits,
    /// What its machine column shows.
    pub machine: [Nm; 3],
    /// Where it really is: machine plus this.
    pub astray: [Nm; 3],
    /// Whether it was homed since power-up or the last stop.
    pub homed: bool,
    /// The work offsets.
    pub offsets: [[Nm; 3]; 6],
    /// Which of them is active.
    pub active: usize,
    /// Lengths of the offset table, by H number from 0.
    pub lengths: [Nm; 10],
    /// The active H number; 0 is none.
    pub length: usize,
    /// A Z shift over everything.
    pub shift: Nm,
    /// The unit it shows.
    pub system: UnitSystem,
    /// Spindle speed; nought is standing.
    pub spindle: i64,
    /// The speed it was set to last.
    pub speed: i64,
    /// Whether coolant runs.
    pub coolant: bool,
    /// Feed override in percent.
    pub feed: i64,
    /// Rapid override in percent.
    pub rapid: i64,
    /// Whether it stops after every block.
    pub single: bool,
    /// Whether the emergency stop is pressed in.
    pub stopped: bool,
    /// The step of one jog.
    pub step: Nm,
    /// How far the tip hangs lower than when the cutter was clamped.
    pub slipped: Nm,
    /// Seconds the spindle has run since it was cold.
    pub warm: i64,
    /// Seconds gone by in the mill's own time.
    pub time: i64,
    scatter: Chance,
}

/// Most that a home switch is off, either way: mechanical switches repeat to 0.01 to 0.05 mm; common practice, no source.
const SCATTER: Nm = 12_000;

/// How much a spindle grows until it is warm: 0.0005 to 0.002 in is normal; common practice, no source.
const GROWTH: Nm = THOU;

impl Mill {
    /// A mill just switched on: not homed, its spindle somewhere in the middle.
    pub(crate) fn new(limits: Limits, system: UnitSystem, seed: u64) -> Self {
        let mut scatter = Chance::of(seed, "home");
        let astray = [
            scatter.between(MM, 9 * MM),
            scatter.between(MM, 9 * MM),
            -scatter.between(2 * MM, 9 * MM),
        ];
        Self {
            limits,
            machine: [0; 3],
            astray,
            homed: false,
            offsets: [[0; 3]; 6],
            active: 0,
            lengths: [0, 0, 3 * MM, -5 * MM, 12 * MM, 25 * MM, 0, 0, 0, 0],
            length: 0,
            shift: 0,
            system,
            spindle: 0,
            speed: limits.speeds[0],
            coolant: false,
            feed: 100,
            rapid: 100,
            single: false,
            stopped: false,
            step: limits.resolution,
            slipped: 0,
            warm: 0,
            time: 0,
            scatter,
        }
    }

    /// Runs on to the home switches, Z first.
    pub(crate) fn home(&mut self) {
        self.machine = [0; 3];
        self.astray = [0; 3].map(|_: Nm| self.scatter.between(-SCATTER, SCATTER));
        self.homed = true;
    }

    /// Where the tip really is.
    pub(crate) fn tip(&self) -> [Nm; 3] {
        let mut at = self.at(self.machine);
        at[2] -= self.slipped + self.growth();
        at
    }

    fn at(&self, machine: [Nm; 3]) -> [Nm; 3] {
        let [x, y, z] = machine;
        [x + self.astray[0], y + self.astray[1], z + self.astray[2]]
    }

    /// How much longer the spindle is than when it was cold.
    pub(crate) fn growth(&self) -> Nm {
        let full = self.limits.warm_up.max(1);
        GROWTH * self.warm.clamp(0, full) / full
    }

    /// Whether it has run long enough.
    pub(crate) fn is_warm(&self) -> bool {
        self.warm >= self.limits.warm_up
    }

    /// Lets time go by.
    pub(crate) fn pass(&mut self, seconds: i64) {
        self.time = self.time.saturating_add(seconds);
        if self.spindle > 0 {
            self.warm = self.warm.saturating_add(seconds);
        }
    }

    /// What work positions lie above machine positions: nought where the readout shows nought.
    pub(crate) fn origin(&self) -> [Nm; 3] {
        let [x, y, z] = self.offsets.get(self.active).copied().unwrap_or_default();
        let length = self.lengths.get(self.length).copied().unwrap_or(0);
        [x, y, z + self.shift + length]
    }

    /// What the work readout shows, rounded to its step.
    pub(crate) fn work(&self) -> [Nm; 3] {
        let origin = self.origin();
        [0, 1, 2].map(|i| self.rounded(self.machine[i] - origin[i]))
    }

    /// Sets the work readout of an axis, by the active work offset.
    pub(crate) fn set_work(&mut self, axis: Axis, shows: Nm) {
        let i = axis.index();
        let origin = self.origin()[i];
        let by = self.machine[i] - shows - origin;
        if let Some(offset) = self.offsets.get_mut(self.active) {
            offset[i] += by;
        }
    }

    /// Rounded to the readout's step, halves away from nought.
    pub(crate) fn rounded(&self, value: Nm) -> Nm {
        let step = self.limits.resolution.max(1);
        let half = if value < 0 { -(step / 2) } else { step / 2 };
        (value + half) / step * step
    }

    /// A machine position within the travels.
    pub(crate) fn within(&self, machine: [Nm; 3]) -> [Nm; 3] {
        let [x, y, z] = machine;
        [
            x.clamp(0, self.limits.travel[0]),
            y.clamp(0, self.limits.travel[1]),
            z.clamp(self.limits.lowest, 0),
        ]
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::{Axis, Limits, Mill};
    use crate::quantity::UnitSystem;
    use crate::simulator::MM;

    pub(crate) fn limits() -> Limits {
        Limits {
            travel: [500 * MM, 320 * MM],
            lowest: -320 * MM,
            resolution: MM / 100,
            speeds: [200, 10_000],
            warm_up: 900,
            door: true,
        }
    }

    #[test]
    fn the_readout_is_machine_less_offset_shift_and_length() {
        let mut mill = Mill::new(limits(), UnitSystem::Mm, 1);
        mill.home();
        mill.machine = [42 * MM, 46 * MM, -151 * MM];
        mill.set_work(Axis::Z, 0);
        assert_eq!(mill.work()[2], 0);
        mill.length = 5;
        assert_eq!(mill.work()[2], -25 * MM);
        mill.shift = 2 * MM;
        assert_eq!(mill.work()[2], -27 * MM);
        mill.set_work(Axis::Z, -180_000);
        assert_eq!(mill.work()[2], -180_000);
        mill.active = 1;
        assert_eq!(mill.work()[2], -178 * MM);
        assert_eq!(mill.rounded(-14_000), -10_000);
        assert_eq!(mill.rounded(-15_000), -20_000);
    }

    #[test]
    fn homing_scatters_by_hundredths_and_a_warm_spindle_hangs_lower() {
        let mut mill = Mill::new(limits(), UnitSystem::Mm, 1);
        assert!(mill.tip()[0] >= MM);
        let mut seen = Vec::new();
        for _ in 0..20 {
            mill.home();
            seen.push(mill.tip()[2]);
        }
        assert!(seen.iter().all(|z| z.abs() <= 12_000));
        seen.sort_unstable();
        seen.dedup();
        assert!(seen.len() > 5);
        let cold = mill.tip()[2];
        mill.spindle = 1000;
        mill.pass(3600);
        assert!(mill.is_warm());
        assert_eq!(mill.tip()[2], cold - 25_400);
    }
}
