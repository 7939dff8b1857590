//! Exact fractions of bounded size. The only file that names the rational-number crate.

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, Signed, Zero};
use std::cmp::Ordering;
use std::fmt;

/// Numerator and denominator are below this, so that comparing and negating can never overflow.
const BOUND: i128 = 1 << 120;

/// An exact fraction, always in lowest terms, with numerator and denominator below 2^120.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Exact(Ratio<i128>);

impl Exact {
    /// The number zero.
    pub const ZERO: Self = Self(Ratio::new_raw(0, 1));
    /// The number one.
    pub const ONE: Self = Self(Ratio::new_raw(1, 1));

    /// A whole number.
    pub const fn whole(n: i64) -> Self {
        Self(Ratio::new_raw(n as i128, 1))
    }

    /// A fraction that is a constant of the program. `den` must be positive and the pair in lowest terms.
    pub(crate) const fn known(num: i128, den: i128) -> Self {
        Self(Ratio::new_raw(num, den))
    }

    /// `num / den`; `None` for a zero denominator or a fraction too large to hold.
    pub fn fraction(num: i128, den: i128) -> Option<Self> {
        if den == 0 || num.unsigned_abs() > BOUND as u128 || den.unsigned_abs() > BOUND as u128 {
            return None;
        }
        Self::bounded(Ratio::new(num, den))
    }

    fn bounded(r: Ratio<i128>) -> Option<Self> {
        let fits = r.numer().unsigned_abs() < BOUND as u128 && *r.denom() < BOUND && *r.denom() > 0;
        fits.then_some(Self(r))
    }

    /// Numerator in lowest terms; carries the sign.
    pub(crate) fn numerator(self) -> i128 {
        *self.0.numer()
    }

    /// Denominator in lowest terms; positive.
    pub(crate) fn denominator(self) -> i128 {
        *self.0.denom()
    }

    /// Sum, or `None` when it is too large to hold exactly.
    pub(crate) fn plus(self, other: Self) -> Option<Self> {
        self.0.checked_add(&other.0).and_then(Self::bounded)
    }

    /// Difference, or `None` when it is too large to hold exactly.
    #[cfg(test)]
    pub(crate) fn minus(self, other: Self) -> Option<Self> {
        num_traits::CheckedSub::checked_sub(&self.0, &other.0).and_then(Self::bounded)
    }

    /// Product, or `None` when it is too large to hold exactly.
    pub(crate) fn times(self, other: Self) -> Option<Self> {
        self.0.checked_mul(&other.0).and_then(Self::bounded)
    }

    /// Quotient, or `None` for a zero divisor or a result too large to hold exactly.
    pub(crate) fn over(self, other: Self) -> Option<Self> {
        if other.is_zero() {
            return None;
        }
        self.0.checked_div(&other.0).and_then(Self::bounded)
    }

    /// Whether this is zero.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// Whether this is below zero.
    pub(crate) fn is_negative(self) -> bool {
        self.0.is_negative()
    }

    /// The value without its sign.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The value with its sign changed.
    #[must_use]
    pub fn negated(self) -> Self {
        Self(-self.0)
    }

    /// Largest whole number not above this.
    pub(crate) fn floor(self) -> i128 {
        self.numerator().div_euclid(self.denominator())
    }

    /// Smallest whole number not below this.
    pub(crate) fn ceil(self) -> i128 {
        -(-self.numerator()).div_euclid(self.denominator())
    }

    /// Nearest whole number; halves are rounded away from zero.
    pub(crate) fn round(self) -> i128 {
        let (n, d) = (self.numerator(), self.denominator());
        let magnitude = (n.abs() * 2 + d).div_euclid(2 * d);
        if n < 0 { -magnitude } else { magnitude }
    }

    /// Reads a text that `Display` of [`Exact`] wrote: a decimal or a fraction `n/d`; `None` for anything else.
    pub fn from_text(text: &str) -> Option<Self> {
        if let Some((n, d)) = text.split_once('/') {
            return Self::fraction(n.parse().ok()?, d.parse().ok()?);
        }
        let (whole, tail) = text.split_once('.').unwrap_or((text, ""));
        if tail.len() > 18 || !tail.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        let scale = 10_i128.pow(u32::try_from(tail.len()).ok()?);
        Self::fraction(format!("{whole}{tail}").parse().ok()?, scale)
    }

    /// The nearest floating-point number, for drawings and for fits that round their result; never stored.
    #[allow(clippy::cast_precision_loss)]
    pub fn to_f64(self) -> f64 {
        self.numerator() as f64 / self.denominator() as f64
    }

    /// Decimal text with at most `places` decimals, without trailing zeros, rounded to nearest; and whether that text
    /// is the exact value.
    pub(crate) fn decimal(self, places: u32) -> (String, bool) {
        let scale = 10_i128.pow(places.min(18));
        let (whole, rest) = (
            self.numerator().abs() / self.denominator(),
            self.numerator().abs() % self.denominator(),
        );
        // The remainder is below the denominator, so scaling it step by step stays in range.
        let Some(scaled) = Self::fraction(rest, self.denominator())
            .and_then(|r| r.times(Self(Ratio::new_raw(scale, 1))))
        else {
            let sign = if self.is_negative() && whole != 0 {
                "-"
            } else {
                ""
            };
            return (format!("{sign}{whole}"), rest == 0);
        };
        let digits = scaled.round();
        let exact = scaled.denominator() == 1;
        let (whole, digits) = (whole + digits / scale, digits % scale);
        let sign = if self.is_negative() && (whole != 0 || digits != 0) {
            "-"
        } else {
            ""
        };
        if digits == 0 {
            return (format!("{sign}{whole}"), exact);
        }
        let mut tail = format!("{digits:0width$}", width = places.min(18) as usize);
        while tail.ends_with('0') {
            tail.pop();
        }
        (format!("{sign}{whole}.{tail}"), exact)
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.cmp(&other.0)
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

impl fmt::Display for Exact {
    /// Exact text: a decimal where one with at most 18 places exists, otherwise a fraction `n/d`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.decimal(18) {
            (text, true) => f.write_str(&text),
            _ => write!(f, "{}/{}", self.numerator(), self.denominator()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Exact;

    fn f(n: i128, d: i128) -> Exact {
        Exact::fraction(n, d).unwrap()
    }

    #[test]
    fn floor_ceil_and_round_round_to_the_named_side() {
        assert_eq!(
            (f(7, 2).floor(), f(7, 2).ceil(), f(7, 2).round()),
            (3, 4, 4)
        );
        assert_eq!(
            (f(-7, 2).floor(), f(-7, 2).ceil(), f(-7, 2).round()),
            (-4, -3, -4)
        );
        assert_eq!(f(-1, 3).round(), 0);
    }

    /// Where the denominator is too large for computing decimals, the whole part is shown, with its sign.
    #[test]
    fn a_fraction_too_fine_to_show_keeps_its_sign() {
        let fine = 10_i128.pow(34) + 7;
        assert_eq!(
            f(-5 * fine - fine / 3, fine).decimal(4),
            ("-5".to_owned(), false)
        );
    }

    #[test]
    fn decimals_report_whether_they_are_exact() {
        assert_eq!(f(1, 8).decimal(4), ("0.125".into(), true));
        assert_eq!(f(-1, 3).decimal(3), ("-0.333".into(), false));
        assert_eq!(f(1999, 1000).decimal(2), ("2".into(), false));
        assert_eq!(f(-1, 3000).decimal(2), ("0".into(), false));
        assert_eq!(f(1, 3).to_string(), "1/3");
    }

    #[test]
    fn results_too_large_are_refused_not_wrapped() {
        let big = f(1 << 119, 1);
        assert_eq!(big.times(big), None);
        assert_eq!(big.plus(big), None);
        assert_eq!(Exact::ONE.over(Exact::ZERO), None);
        assert_eq!(Exact::fraction(1, 0), None);
        assert_eq!(Exact::fraction(i128::MIN, 1), None);
    }
}
