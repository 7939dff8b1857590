//! The uncertainty of a touch, and the probability that a clearance covers it.

use super::z_setting::ZSetting;
use crate::quantity::Length;

/// The meaning of a plus-or-minus figure.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum UncertaintyKind {
    /// A hard limit a, never exceeded: standard uncertainty a / sqrt 3.
    Limits(Length),
    /// Twice the standard uncertainty.
    Twice(Length),
    /// The uncertainty of setting Z, with its parts.
    ZSetting(ZSetting),
}

impl UncertaintyKind {
    /// The standard uncertainty in millimetres. Source: evaluation of uncertainty by distribution, JCGM 100 (from memory).
    pub(super) fn standard(self) -> f64 {
        match self {
            Self::Limits(a) => a.abs().mm() / 3.0_f64.sqrt(),
            Self::Twice(u) => u.abs().mm() / 2.0,
            Self::ZSetting(z) => z.standard(),
        }
    }

    fn limit(self) -> Option<Length> {
        match self {
            Self::Limits(a) => Some(a.abs()),
            Self::Twice(_) => None,
            Self::ZSetting(z) => z.limit(),
        }
    }
}

/// The uncertainty of heights: of each touch independently, and the one shared by all touches, which arises between
/// touching and cutting (tool length, spindle growth, the Z zero).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct HeightUncertainty {
    /// Uncertainty of one touch.
    pub touch: UncertaintyKind,
    /// Uncertainty shared by all touches.
    pub shared: UncertaintyKind,
}

impl HeightUncertainty {
    /// Both combined, as a standard uncertainty in mm.
    pub(super) fn standard(self) -> f64 {
        self.touch.standard().hypot(self.shared.standard())
    }

    /// The clearance that excludes a miss, where both are hard limits.
    pub(crate) fn certain(self) -> Option<Length> {
        self.touch.limit()?.plus(self.shared.limit()?)
    }
}

/// The probability that a standard normal variable is below `z`.
pub(super) fn normal(z: f64) -> f64 {
    // erf by its series of positive terms (Abramowitz and Stegun 7.1.6, from memory).
    let x = z.abs() / 2.0_f64.sqrt();
    if x > 6.0 {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    let (mut term, mut sum, mut n) = (x, x, 0.0);
    while term > sum * 1e-17 {
        n += 1.0;
        term *= 2.0 * x * x / (2.0 * n + 1.0);
        sum += term;
    }
    let erf = 2.0 / std::f64::consts::PI.sqrt() * (-x * x).exp() * sum;
    0.5 * (1.0 + erf.copysign(z))
}

#[cfg(test)]
mod tests {
    use super::normal;

    // Source: tables of the normal distribution, from memory.
    #[test]
    fn the_normal_distribution() {
        for (z, p) in [
            (0.0, 0.5),
            (1.0, 0.841_344_746),
            (1.644_854, 0.95),
            (2.326_348, 0.99),
            (3.090_232, 0.999),
            (-1.959_964, 0.025),
        ] {
            assert!((normal(z) - p).abs() < 1e-6, "{z}");
        }
        assert!(normal(9.0) > 0.999_999_9 && normal(-9.0) < 1e-7);
    }
}
