//! The cutter's underside: a flat disc with a rounded corner, tilted by the spindle's tram.

use super::Nm;

/// A cutter in its spindle.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cutter {
    /// Diameter.
    pub diameter: Nm,
    /// Corner radius.
    pub corner: Nm,
    /// How much its underside rises along X, in nanometres a metre; from the spindle's tram.
    pub tilt_x: i64,
    /// The same along Y.
    pub tilt_y: i64,
    /// Deepest bite it is made for.
    pub deepest: Nm,
}

/// Nanometres in a metre.
const METRE: i64 = 1_000_000_000;

impl Cutter {
    /// Half its diameter.
    pub(crate) fn radius(&self) -> Nm {
        self.diameter / 2
    }

    /// The radius of the flat inside the corner.
    pub(crate) fn flat(&self) -> Nm {
        (self.radius() - self.corner).max(0)
    }

    /// The underside above the tip, at an offset from the axis inside the flat. The tip is the lowest place of the rim, so
    /// tram does not bias the depth: what touches first also cuts lowest.
    pub(crate) fn rise(&self, dx: Nm, dy: Nm) -> Nm {
        self.lift() + (self.tilt_x * dx + self.tilt_y * dy) / METRE
    }

    /// How far the axis' own height stands above the tip.
    pub(crate) fn lift(&self) -> Nm {
        let tilt = root(self.tilt_x * self.tilt_x + self.tilt_y * self.tilt_y);
        tilt * self.flat() / METRE
    }

    /// How far the corner's round stands above the flat, at a distance from the axis between flat and rim.
    pub(crate) fn round(&self, distance: Nm) -> Nm {
        let out = distance - self.flat();
        if out <= 0 {
            return 0;
        }
        self.corner - root(self.corner * self.corner - out * out)
    }
}

/// The whole square root; nought of what is below nought.
pub(crate) fn root(square: i64) -> i64 {
    u64::try_from(square).map_or(0, |s| i64::try_from(s.isqrt()).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::{Cutter, root};
    use crate::simulator::MM;

    #[test]
    fn the_tip_is_the_lowest_place_of_the_rim() {
        let cutter = Cutter {
            diameter: 12 * MM,
            corner: 0,
            tilt_x: 300_000,
            tilt_y: 400_000,
            deepest: MM / 4,
        };
        // Against the tilt, at the rim: R * (0.6, 0.8) the other way.
        assert_eq!(cutter.rise(-3_600_000, -4_800_000), 0);
        assert_eq!(cutter.lift(), 3_000);
    }

    #[test]
    fn a_corner_rises_as_a_quarter_circle() {
        let cutter = Cutter {
            diameter: 16 * MM,
            corner: MM,
            tilt_x: 0,
            tilt_y: 0,
            deepest: MM,
        };
        assert_eq!(cutter.round(7 * MM), 0);
        assert_eq!(cutter.round(8 * MM), MM);
        // 1 - sqrt(1 - 0.6^2) = 0.2
        assert_eq!(cutter.round(7 * MM + 600_000), 200_000);
        assert_eq!(root(-1), 0);
    }
}
