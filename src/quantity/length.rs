//! Lengths on an exact grid of tenths of a nanometre.

use super::dimension::Dimension;
use super::exact::Exact;
use super::value::Quantity;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A length as a whole number of tenths of a nanometre (1e-10 m).
///
/// One millionth of an inch is 254 of them and one nanometre 10, so inch and millimetre readings down to these steps
/// are both exact. At most 100 m in either direction, so the sum of a few lengths never overflows.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Length(i64);

impl Length {
    /// The length zero.
    pub const ZERO: Self = Self(0);
    /// Number of tenths of a nanometre in a millimetre.
    pub(crate) const COUNTS_PER_MM: i64 = 10_000_000;
    /// Largest length, in counts: 100 m.
    pub const LIMIT: i64 = 100_000 * Self::COUNTS_PER_MM;

    /// The length of this number of tenths of a nanometre; `None` beyond 100 m.
    pub fn from_counts(counts: i64) -> Option<Self> {
        (counts.unsigned_abs() <= Self::LIMIT.unsigned_abs()).then_some(Self(counts))
    }

    /// The number of tenths of a nanometre.
    pub fn counts(self) -> i64 {
        self.0
    }

    /// The same length as `quantity`, if that is a length on the grid and within 100 m.
    pub fn exactly(quantity: Quantity) -> Option<Self> {
        let counts = Self::scaled(quantity)?;
        (counts.denominator() == 1)
            .then(|| i64::try_from(counts.numerator()).ok())
            .flatten()
            .and_then(Self::from_counts)
    }

    /// The length nearest to `quantity`; the difference is at most half of a tenth of a nanometre.
    pub fn nearest(quantity: Quantity) -> Option<Self> {
        i64::try_from(Self::scaled(quantity)?.round())
            .ok()
            .and_then(Self::from_counts)
    }

    fn scaled(quantity: Quantity) -> Option<Exact> {
        if quantity.dimension != Dimension::LENGTH {
            return None;
        }
        quantity.amount.times(Exact::whole(Self::COUNTS_PER_MM))
    }

    /// Sum; `None` beyond 100 m.
    pub fn plus(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).and_then(Self::from_counts)
    }

    /// Difference; `None` beyond 100 m.
    pub fn minus(self, other: Self) -> Option<Self> {
        self.0.checked_sub(other.0).and_then(Self::from_counts)
    }

    /// The absolute value.
    #[must_use]
    pub(crate) fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The length with its sign changed.
    #[must_use]
    pub fn negated(self) -> Self {
        Self(-self.0)
    }

    /// The length in mm as the nearest floating-point number, for drawing and JSON; never stored or compared.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn mm(self) -> f64 {
        self.0 as f64 / Self::COUNTS_PER_MM as f64
    }
}

impl From<Length> for Quantity {
    fn from(length: Length) -> Self {
        let amount = Exact::fraction(i128::from(length.0), i128::from(Length::COUNTS_PER_MM))
            .unwrap_or(Exact::ZERO); // cannot fail: both are far below the bound
        Self {
            amount,
            dimension: Dimension::LENGTH,
        }
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        Quantity::from(*self).serialize(s)
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let quantity = Quantity::deserialize(d)?;
        Self::exactly(quantity).ok_or_else(|| {
            serde::de::Error::custom(format!("{} is not a length", quantity.canonical()))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::Length;
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::unit::Unit;

    fn length(text: &str) -> Option<Length> {
        let mm = Unit::find("mm").unwrap();
        Length::exactly(quantity(text, &mm, DecimalMark::Point).unwrap().quantity)
    }

    #[test]
    fn a_microinch_and_a_nanometre_are_both_whole_counts() {
        assert_eq!(length("1 uin").unwrap().counts(), 254);
        assert_eq!(length("1 nm").unwrap().counts(), 10);
        assert_eq!(length("1 in"), length("25.4 mm"));
        assert_eq!(length("1/64 in").unwrap().counts(), 3_968_750);
    }

    #[test]
    fn beyond_a_hundred_metres_is_refused() {
        assert!(Length::from_counts(Length::LIMIT).is_some());
        assert!(Length::from_counts(Length::LIMIT + 1).is_none());
        assert!(Length::from_counts(i64::MIN).is_none());
        let far = Length::from_counts(Length::LIMIT).unwrap();
        assert_eq!(far.plus(far), None);
    }
}
