//! The value to type into the control's Z readout so that it reads zero at a plane.

use super::working::{Working, number, operand, result};
use crate::quantity::{Length, format::QuantityFormat};

/// The value for the readout while the tip is at a known height: height of the tip minus plane.
///
/// Positive: the tip is above the future plane. Source: derived from the meaning of the readout (it shows the height of
/// the tip above its zero).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Entry {
    /// Height of the tip above the first touch.
    pub tip: Length,
    /// The plane at which the readout will read zero.
    pub plane: Length,
    /// The value to type.
    pub value: Length,
}

impl Entry {
    /// The entry for `plane` with the tip at height `tip`; `None` where it is larger than a length can be.
    pub(crate) fn new(tip: Length, plane: Length) -> Option<Self> {
        let value = tip.minus(plane)?;
        Some(Self { tip, plane, value })
    }

    /// The height at which the readout reads zero after `typed` was entered with the tip at height `tip`: to compare
    /// the readout with the intended plane. `None` where it is larger than a length can be.
    #[cfg(test)]
    pub(crate) fn plane_from(tip: Length, typed: Length) -> Option<Length> {
        tip.minus(typed)
    }

    /// The formula, its numbers and the result.
    pub(crate) fn working(&self, show: &QuantityFormat) -> Working {
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
    fn the_working_shows_the_numbers() {
        let entry = Entry::new(um(-240), um(-290)).unwrap();
        assert_eq!(
            entry.working(&QuantityFormat::new(UnitSystem::Mm)).lines(),
            ["entry = height of tip - plane = -0.24 - (-0.29) = +0.05 mm"]
        );
    }

    // Source: derived from plane = tip - entry; that a metric number taken as inches cuts 25.4 times deeper is common
    // practice, no source.
    #[test]
    fn the_sign_of_an_entry_slip_decides_whether_it_cuts_shallow_or_deep() {
        let meant = Entry::new(um(-240), um(-290)).unwrap();
        // The tip is 0.05 above its plane and the sign is lost: the cut is too shallow by twice that.
        let flipped = Entry::plane_from(meant.tip, meant.value.negated()).unwrap();
        assert_eq!(flipped.minus(meant.plane), Some(um(100)));
        // The tip is 0.18 below its plane and the sign is lost: the cut is too deep by twice that.
        let below = Entry::new(um(-170), um(10)).unwrap();
        let flipped = Entry::plane_from(below.tip, below.value.negated()).unwrap();
        assert_eq!(flipped.minus(below.plane), Some(um(-360)));
        // 0.05 typed into a readout in inches: 1.27 mm below the tip instead of 0.05.
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
