//! What is typed into the control's Z readout so that it reads nought at a plane.

use super::working::{Working, number, operand, result};
use crate::quantity::{Length, format::QuantityFormat};

/// The value for the readout while the tip stands at a known height: height of the tip minus plane.
///
/// Plus: the tip stands above the plane to come. Source: derived from the meaning of the readout (it shows how far
/// the tip is above its nought).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Entry {
    /// Height of the tip over the first touch.
    pub tip: Length,
    /// The plane that the readout is to call nought.
    pub plane: Length,
    /// What to type.
    pub value: Length,
}

impl Entry {
    /// The entry for `plane` with the tip at height `tip`; `None` beyond what a length holds.
    pub fn new(tip: Length, plane: Length) -> Option<Self> {
        let value = tip.minus(plane)?;
        Some(Self { tip, plane, value })
    }

    /// Where the readout's nought really lies once `typed` has been entered with the tip at height `tip`: for
    /// checking what the readout shows against what was meant. `None` beyond what a length holds.
    pub fn plane_from(tip: Length, typed: Length) -> Option<Length> {
        tip.minus(typed)
    }

    /// Formula, numbers and result.
    pub fn working(&self, show: &QuantityFormat) -> Working {
        let mut working = Working::new();
        working.push(format!(
            "entry = height of tip - plane = {} - {} = {}",
            number(show, self.tip),
            operand(show, self.plane),
            result(show, self.value)
        ));
        working
    }
}

#[cfg(test)]
mod tests {
    use super::Entry;
    use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    #[test]
    fn the_working_puts_the_numbers_in() {
        let entry = Entry::new(um(-240), um(-290)).unwrap();
        assert_eq!(
            entry.working(&QuantityFormat::new(UnitSystem::Mm)).lines(),
            ["entry = height of tip - plane = -0.24 - (-0.29) = +0.05 mm"]
        );
    }

    // Source: derived from plane = tip - entry; that a metric number taken as inches cuts 25.4 times deeper is common
    // practice, no source.
    #[test]
    fn a_slip_of_entry_cuts_shallow_or_deep_as_its_sign_says() {
        let meant = Entry::new(um(-240), um(-290)).unwrap();
        // The sign lost of a tip that stands 0.05 above its plane: the cut is shallow by twice that.
        let flipped = Entry::plane_from(meant.tip, meant.value.negated()).unwrap();
        assert_eq!(flipped.minus(meant.plane), Some(um(100)));
        // The sign lost of a tip that stands 0.18 below its plane: deep by twice that.
        let below = Entry::new(um(-170), um(10)).unwrap();
        let flipped = Entry::plane_from(below.tip, below.value.negated()).unwrap();
        assert_eq!(flipped.minus(below.plane), Some(um(-360)));
        // 0.05 typed into a readout in inches: 1.27 mm below the tip in place of 0.05.
        let inch = Entry::plane_from(meant.tip, um(1270)).unwrap();
        assert_eq!(inch.minus(meant.tip), Some(um(-1270)));
        assert!(inch < meant.plane);
    }

    #[test]
    fn too_far_is_none() {
        let far = Length::from_counts(Length::LIMIT).unwrap();
        assert_eq!(Entry::new(far, far.negated()), None);
    }
}
