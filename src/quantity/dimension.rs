//! Dimensions: the kind of a quantity, as powers of the base units.

use std::fmt;

/// Powers of length, time, mass, revolution and tooth. A ratio has none.
///
/// Revolution and tooth are separate from plain numbers so that a formula cannot confuse feed per minute, per
/// revolution and per tooth: feed / (speed * teeth) is per tooth only when all three are right.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Dimension {
    /// Power of length.
    pub length: i8,
    /// Power of time.
    pub time: i8,
    /// Power of mass.
    pub mass: i8,
    /// Power of revolution (an angle is a fraction of one).
    pub turn: i8,
    /// Power of tooth.
    pub tooth: i8,
}

impl Dimension {
    const fn of(length: i8, time: i8, mass: i8, turn: i8, tooth: i8) -> Self {
        Self {
            length,
            time,
            mass,
            turn,
            tooth,
        }
    }

    /// A plain number or a percentage.
    pub const RATIO: Self = Self::of(0, 0, 0, 0, 0);
    /// A length.
    pub const LENGTH: Self = Self::of(1, 0, 0, 0, 0);
    /// A time.
    pub const TIME: Self = Self::of(0, 1, 0, 0, 0);
    /// A mass.
    pub const MASS: Self = Self::of(0, 0, 1, 0, 0);
    /// An angle, in revolutions.
    pub const ANGLE: Self = Self::of(0, 0, 0, 1, 0);
    /// A spindle speed: revolutions per time.
    pub const SPINDLE_SPEED: Self = Self::of(0, -1, 0, 1, 0);
    /// A feed or surface speed: length per time.
    pub const FEED: Self = Self::of(1, -1, 0, 0, 0);
    /// A chip load: length per tooth.
    pub const CHIP_LOAD: Self = Self::of(1, 0, 0, 0, -1);
    /// Teeth of a cutter: teeth per revolution.
    pub const TEETH: Self = Self::of(0, 0, 0, -1, 1);
    /// An area.
    pub const AREA: Self = Self::of(2, 0, 0, 0, 0);
    /// A removal rate: volume per time.
    pub const REMOVAL_RATE: Self = Self::of(3, -1, 0, 0, 0);
    /// A power.
    pub const POWER: Self = Self::of(2, -3, 1, 0, 0);
    /// Energy per volume (the specific energy of a material).
    pub const SPECIFIC_ENERGY: Self = Self::of(-1, -2, 1, 0, 0);
    /// A force.
    pub(crate) const FORCE: Self = Self::of(1, -2, 1, 0, 0);
    /// A torque.
    pub(crate) const TORQUE: Self = Self::of(2, -2, 1, 0, 0);
    /// An acceleration: length per time squared.
    pub const ACCELERATION: Self = Self::of(1, -2, 0, 0, 0);

    const NAMED: [(Self, &'static str); 16] = [
        (Self::RATIO, "a plain number"),
        (Self::LENGTH, "a length"),
        (Self::TIME, "a time"),
        (Self::MASS, "a mass"),
        (Self::ANGLE, "an angle"),
        (Self::SPINDLE_SPEED, "a spindle speed"),
        (Self::FEED, "a feed"),
        (Self::CHIP_LOAD, "a chip load"),
        (Self::TEETH, "a number of teeth"),
        (Self::AREA, "an area"),
        (Self::REMOVAL_RATE, "a removal rate"),
        (Self::POWER, "a power"),
        (Self::SPECIFIC_ENERGY, "a specific energy"),
        (Self::FORCE, "a force"),
        (Self::TORQUE, "a torque"),
        (Self::ACCELERATION, "an acceleration"),
    ];

    /// Product of two kinds; `None` when a power is outside the range of an `i8`.
    pub(crate) fn times(self, other: Self) -> Option<Self> {
        Some(Self {
            length: self.length.checked_add(other.length)?,
            time: self.time.checked_add(other.time)?,
            mass: self.mass.checked_add(other.mass)?,
            turn: self.turn.checked_add(other.turn)?,
            tooth: self.tooth.checked_add(other.tooth)?,
        })
    }

    /// Quotient of two kinds; `None` when a power is outside the range of an `i8`.
    pub(crate) fn over(self, other: Self) -> Option<Self> {
        Some(Self {
            length: self.length.checked_sub(other.length)?,
            time: self.time.checked_sub(other.time)?,
            mass: self.mass.checked_sub(other.mass)?,
            turn: self.turn.checked_sub(other.turn)?,
            tooth: self.tooth.checked_sub(other.tooth)?,
        })
    }
}

impl fmt::Display for Dimension {
    /// The name with its article ("a length"), or the powers where the kind has no name.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((_, name)) = Self::NAMED.iter().find(|(d, _)| d == self) {
            return f.write_str(name);
        }
        f.write_str("a quantity in ")?;
        let parts = [
            ("mm", self.length),
            ("s", self.time),
            ("kg", self.mass),
            ("rev", self.turn),
            ("tooth", self.tooth),
        ];
        let mut first = true;
        for (name, power) in parts.into_iter().filter(|(_, p)| *p != 0) {
            let sep = if first { "" } else { " " };
            first = false;
            match power {
                1 => write!(f, "{sep}{name}")?,
                _ => write!(f, "{sep}{name}^{power}")?,
            }
        }
        Ok(())
    }
}
