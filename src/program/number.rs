//! A number as written: its exact value, and whether it had a decimal point.

/// The powers of ten that a mantissa of 18 digits needs; a double holds each exactly.
const TEN: [f64; 19] = [
    1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18,
];

/// Most digits that are stored.
pub(crate) const MOST_DIGITS: u8 = 18;

/// A decimal number: `mantissa` divided by ten to the power `scale`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Number {
    /// All digits, with the sign.
    pub mantissa: i64,
    /// Number of digits after the decimal point.
    pub scale: u8,
    /// Whether a decimal point was written.
    pub has_point: bool,
}

impl Number {
    /// The nearest double. Numerator and denominator are exact up to 2 to the 53, so the single division rounds once.
    #[inline]
    pub(crate) fn real(self) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        let mantissa = self.mantissa as f64;
        mantissa / TEN.get(usize::from(self.scale)).copied().unwrap_or(1e18)
    }

    /// Ten times the number, where that is whole and small. Codes are identified by it, such as 591 for G59.1.
    pub(crate) fn tenfold(self) -> Option<u16> {
        let mut mantissa = self.mantissa.checked_mul(10)?;
        for _ in 0..self.scale {
            if mantissa % 10 != 0 {
                return None;
            }
            mantissa /= 10;
        }
        u16::try_from(mantissa).ok()
    }
}

/// The value of a word.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Value {
    /// A number, as written.
    Exact(Number),
    /// The result of an expression.
    Computed(f64),
    /// The value depends on a parameter that the program did not set, or is undefined.
    Unknown,
}

impl Value {
    /// The value as a real number, where it is known.
    pub fn real(self) -> Option<f64> {
        match self {
            Self::Exact(number) => Some(number.real()),
            Self::Computed(value) => Some(value),
            Self::Unknown => None,
        }
    }

    /// Ten times the value, where it is a code. RS-274 accepts a computed value within 0.0001 of a whole number (NISTIR
    /// 6556, 3.3.2.1).
    pub(crate) fn tenfold(self) -> Option<u16> {
        match self {
            Self::Exact(number) => number.tenfold(),
            Self::Computed(value) => {
                let ten = (value * 10.0).round();
                let near = (value * 10.0 - ten).abs() <= 0.001 && (0.0..=65_535.0).contains(&ten);
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                near.then_some(ten as u16)
            }
            Self::Unknown => None,
        }
    }

    /// The value, where it is a whole number not below zero.
    pub(crate) fn whole(self) -> Option<u32> {
        let value = self.real()?;
        let round = value.round();
        let near = (value - round).abs() <= 0.0001 && (0.0..=4_294_967_295.0).contains(&round);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        near.then_some(round as u32)
    }
}

#[cfg(test)]
mod tests {
    use super::Number;

    fn number(mantissa: i64, scale: u8) -> Number {
        Number {
            mantissa,
            scale,
            has_point: scale > 0,
        }
    }

    /// Expected values: from Rust's own parser of decimal numbers, which rounds once.
    #[test]
    fn a_number_is_the_nearest_double() {
        for text in [
            "1234.5678",
            "16777217",
            "-0.0195",
            "0.1",
            "299.9999",
            "0.000001",
        ] {
            let digits: String = text.chars().filter(|c| *c != '.').collect();
            let scale = text.split_once('.').map_or(0, |(_, f)| f.len());
            let read = number(digits.parse().unwrap(), u8::try_from(scale).unwrap()).real();
            assert_eq!(
                read.to_bits(),
                text.parse::<f64>().unwrap().to_bits(),
                "{text}"
            );
        }
    }

    #[test]
    fn a_code_may_have_one_digit_after_the_point() {
        assert_eq!(number(591, 1).tenfold(), Some(591));
        assert_eq!(number(100, 2).tenfold(), Some(10));
        assert_eq!(number(5915, 2).tenfold(), None);
        assert_eq!(number(-1, 0).tenfold(), None);
    }
}
