//! A number with its kind: an exact value in base units together with its dimension.

use super::dimension::Dimension;
use super::exact::Exact;
use super::unit::{Unit, UnitSystem};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cmp::Ordering;
use thiserror::Error;

/// An exact amount of something. Can be copied, and compared within its kind; no floating point.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Quantity {
    /// The amount in base units (mm, s, kg, rev, tooth and their products).
    pub amount: Exact,
    /// The kind of the quantity.
    pub dimension: Dimension,
}

/// Why an operation on quantities has no result.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Error)]
pub enum QuantityError {
    /// The exact result does not fit.
    #[error("the result is too large, or too fine a fraction, to be stored exactly")]
    TooLarge,
    /// Division by zero.
    #[error("division by zero")]
    DividedByNought,
    /// Two kinds that cannot be added or compared.
    #[error("{0} and {1} cannot be added or compared")]
    Mismatch(Dimension, Dimension),
}

impl Quantity {
    /// A plain number.
    pub fn ratio(amount: Exact) -> Self {
        Self {
            amount,
            dimension: Dimension::RATIO,
        }
    }

    /// A whole plain number.
    pub(crate) fn whole(n: i64) -> Self {
        Self::ratio(Exact::whole(n))
    }

    /// The quantity `amount` times `unit`.
    pub fn of(amount: Exact, unit: &Unit) -> Result<Self, QuantityError> {
        let amount = amount.times(unit.size).ok_or(QuantityError::TooLarge)?;
        Ok(Self {
            amount,
            dimension: unit.dimension,
        })
    }

    /// How many of `unit` this is; the unit must be of the same kind.
    pub fn in_unit(self, unit: &Unit) -> Result<Exact, QuantityError> {
        self.same_kind(unit.dimension)?;
        self.amount.over(unit.size).ok_or(QuantityError::TooLarge)
    }

    fn same_kind(self, other: Dimension) -> Result<(), QuantityError> {
        if self.dimension == other {
            Ok(())
        } else {
            Err(QuantityError::Mismatch(self.dimension, other))
        }
    }

    /// Sum of two quantities of the same kind.
    pub fn plus(self, other: Self) -> Result<Self, QuantityError> {
        self.same_kind(other.dimension)?;
        let amount = self
            .amount
            .plus(other.amount)
            .ok_or(QuantityError::TooLarge)?;
        Ok(Self { amount, ..self })
    }

    /// Difference of two quantities of the same kind.
    pub fn minus(self, other: Self) -> Result<Self, QuantityError> {
        self.plus(other.negated())
    }

    /// Product; its kind is the product of the kinds.
    pub fn times(self, other: Self) -> Result<Self, QuantityError> {
        let amount = self.amount.times(other.amount);
        let dimension = self.dimension.times(other.dimension);
        match (amount, dimension) {
            (Some(amount), Some(dimension)) => Ok(Self { amount, dimension }),
            _ => Err(QuantityError::TooLarge),
        }
    }

    /// Quotient; its kind is the quotient of the kinds.
    pub fn over(self, other: Self) -> Result<Self, QuantityError> {
        if other.amount.is_zero() {
            return Err(QuantityError::DividedByNought);
        }
        let amount = self.amount.over(other.amount);
        let dimension = self.dimension.over(other.dimension);
        match (amount, dimension) {
            (Some(amount), Some(dimension)) => Ok(Self { amount, dimension }),
            _ => Err(QuantityError::TooLarge),
        }
    }

    /// The quantity with its sign changed.
    #[must_use]
    pub fn negated(self) -> Self {
        Self {
            amount: self.amount.negated(),
            ..self
        }
    }

    /// The absolute value.
    #[must_use]
    pub(crate) fn abs(self) -> Self {
        Self {
            amount: self.amount.abs(),
            ..self
        }
    }

    /// Order of two quantities of the same kind.
    pub fn compare(self, other: Self) -> Result<Ordering, QuantityError> {
        self.same_kind(other.dimension)?;
        Ok(self.amount.cmp(&other.amount))
    }

    /// Text from which [`Quantity::from_canonical`] gives back exactly this quantity: amount and unit, independent of
    /// any shop's unit system (`-0.12 mm`, `1/3 rpm`). Kinds without a usual unit, and amounts whose decimal has more
    /// digits than are read, are written in base units by powers.
    pub fn canonical(self) -> String {
        let usual = Unit::usual(self.dimension, UnitSystem::Mm).and_then(|unit| {
            let amount = self.amount.over(unit.size)?;
            Some(format!("{amount} {}", unit.symbol).trim_end().to_owned())
        });
        usual
            .filter(|text| Self::from_canonical(text) == Some(self))
            .unwrap_or_else(|| self.by_powers())
    }

    fn by_powers(self) -> String {
        let d = self.dimension;
        let powers = [d.length, d.time, d.mass, d.turn, d.tooth].map(|p| p.to_string());
        let (n, den) = (self.amount.numerator(), self.amount.denominator());
        format!("{n}/{den} base {}", powers.join(" "))
    }

    /// Reads a text that [`Quantity::canonical`] wrote; `None` for any text that it cannot have written.
    pub fn from_canonical(text: &str) -> Option<Self> {
        if let Some((fraction, powers)) = text.split_once(" base ") {
            let (n, d) = fraction.split_once('/')?;
            let amount = Exact::fraction(n.parse().ok()?, d.parse().ok()?)?;
            let p: Vec<i8> = powers
                .split(' ')
                .map(str::parse)
                .collect::<Result<_, _>>()
                .ok()?;
            let [length, time, mass, turn, tooth] = p.try_into().ok()?;
            let dimension = Dimension {
                length,
                time,
                mass,
                turn,
                tooth,
            };
            return Some(Self { amount, dimension });
        }
        // Not read like typed text: a computed value may be finer than anything that can be typed.
        let (amount, unit) = match text.split_once(' ') {
            None => (text, Unit::usual(Dimension::RATIO, UnitSystem::Mm)?),
            Some((amount, symbol)) => (amount, Unit::find(symbol)?),
        };
        Self::of(Exact::from_text(amount)?, &unit).ok()
    }
}

impl Serialize for Quantity {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(&self.canonical())
    }
}

impl<'de> Deserialize<'de> for Quantity {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = String::deserialize(d)?;
        Self::from_canonical(&text)
            .ok_or_else(|| serde::de::Error::custom(format!("{text:?} is not a quantity")))
    }
}

#[cfg(test)]
mod tests {
    use super::Quantity;
    use crate::quantity::{Dimension, Exact};

    #[test]
    fn canonical_text_restores_every_value_of_every_kind() {
        let kinds = [
            Dimension::RATIO,
            Dimension::LENGTH,
            Dimension::TIME,
            Dimension::SPINDLE_SPEED,
            Dimension::FEED,
            Dimension::CHIP_LOAD,
            Dimension::TEETH,
            Dimension::ANGLE,
            Dimension::AREA,
            Dimension::REMOVAL_RATE,
            Dimension::POWER,
            Dimension::SPECIFIC_ENERGY,
            Dimension::MASS,
            Dimension::ACCELERATION,
            Dimension {
                length: 3,
                time: -2,
                mass: 1,
                turn: 1,
                tooth: -1,
            },
        ];
        // 7/12000 is a ridge computed from a tram figure: finer than the grid of typed lengths.
        for (num, den) in [
            (0, 1),
            (-1, 3),
            (7, 12_000),
            (1, 7_919),
            (-123_456_789, 1000),
            (1 << 100, 3),
        ] {
            for dimension in kinds {
                let q = Quantity {
                    amount: Exact::fraction(num, den).unwrap(),
                    dimension,
                };
                assert_eq!(
                    Quantity::from_canonical(&q.canonical()),
                    Some(q),
                    "{}",
                    q.canonical()
                );
            }
        }
        for bad in [
            "",
            "x",
            "1 furlong",
            "1/0 mm",
            "1.2.3 mm",
            "1/2 base 1",
            "1e3 mm",
            "--1",
        ] {
            assert_eq!(Quantity::from_canonical(bad), None, "{bad}");
        }
    }
}
