//! The uncertainty between the plane that was chosen and the plane that is cut, because Z is set by hand before the
//! cut.

use crate::quantity::Length;

/// What setting Z adds to the uncertainty of a plane. All parts are hard limits.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct ZSetting {
    /// The last jog step: contact is anywhere within it.
    pub jog: Length,
    /// The step of the readout into which the entry is typed.
    pub readout: Length,
    /// Change of the first point when it was touched again; `None` where it was not.
    pub drift: Option<Length>,
    /// Whether the control adds a stored tool length.
    pub offsets: bool,
}

impl ZSetting {
    /// Each part with its name. The error of a readout is half its last digit, and so is that of a stored tool length.
    /// A drift below one jog step cannot be detected, so it counts as one step. Source: common practice, no source.
    pub(crate) fn parts(self) -> [(&'static str, Length); 4] {
        let half = half(self.readout);
        let drift = self.drift.unwrap_or_default().abs().max(self.jog.abs());
        let length = if self.offsets { half } else { Length::ZERO };
        [
            ("jog step", self.jog.abs()),
            ("half a readout step", half),
            ("drift", drift),
            ("tool length", length),
        ]
    }

    /// The sum of all parts; `None` where it is larger than a length can be.
    pub(crate) fn limit(self) -> Option<Length> {
        let parts = self.parts().into_iter();
        parts.map(|p| p.1).try_fold(Length::ZERO, Length::plus)
    }

    /// The standard uncertainty in mm: square root of the sum of a^2 / 3. Source: evaluation of uncertainty by
    /// distribution, JCGM 100 (from memory).
    pub(super) fn standard(self) -> f64 {
        let squares: f64 = self.parts().iter().map(|(_, a)| a.mm().powi(2) / 3.0).sum();
        squares.sqrt()
    }
}

/// Half a length, rounded up.
fn half(length: Length) -> Length {
    let counts = length.abs().counts();
    Length::from_counts(counts / 2 + counts % 2).unwrap_or(length)
}

#[cfg(test)]
mod tests {
    use super::ZSetting;
    use crate::quantity::Length;

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    // Source: about 0.03 mm at worst with steps of 0.01 mm (common practice, no source); root of the squares by hand:
    // 100 + 25 + 100 + 25 = 250, over 3.
    #[test]
    fn steps_of_a_hundredth_add_up_to_three_hundredths() {
        let setting = ZSetting {
            jog: um(10),
            readout: um(10),
            drift: None,
            offsets: true,
        };
        assert_eq!(setting.limit(), Some(um(30)));
        assert!((setting.standard() * 1000.0 - (250.0_f64 / 3.0).sqrt()).abs() < 1e-9);
        let none = ZSetting {
            offsets: false,
            ..setting
        };
        assert_eq!(none.limit(), Some(um(25)));
        let drifted = ZSetting {
            drift: Some(um(-40)),
            ..none
        };
        assert_eq!(drifted.limit(), Some(um(55)));
    }
}
