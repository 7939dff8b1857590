//! The likeliest slip behind a value out of range.

use super::exact::Exact;
use super::value::Quantity;

/// A slip of the hand or head that turns the value meant into the value typed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slip {
    /// A minus sign lost or added.
    Sign,
    /// Thousandths typed as whole units: 6 for 6 thou.
    Thousandths,
    /// A whole unit typed as thousandths.
    Thousandfold,
    /// Millimetres typed where inches were asked.
    MmAsInch,
    /// Inches typed where millimetres were asked.
    InchAsMm,
    /// The decimal point one place too far right.
    PointRight,
    /// The decimal point one place too far left.
    PointLeft,
}

/// A slip and the value that was probably meant.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Likely {
    /// What happened.
    pub slip: Slip,
    /// The value that undoing it gives; it fits the limits.
    pub meant: Quantity,
}

impl Slip {
    /// In the order in which they happen at a machine (common practice, no source).
    const ALL: [(Self, i128, i128); 7] = [
        (Self::Sign, -1, 1),
        (Self::Thousandths, 1, 1000),
        (Self::MmAsInch, 5, 127),
        (Self::InchAsMm, 127, 5),
        (Self::PointRight, 1, 10),
        (Self::PointLeft, 10, 1),
        (Self::Thousandfold, 1000, 1),
    ];

    /// What happened, in words that complete "perhaps …".
    pub fn words(self) -> &'static str {
        match self {
            Self::Sign => "a minus sign was lost or added",
            Self::Thousandths => "thousandths were typed as whole units",
            Self::Thousandfold => "a whole unit was typed as thousandths",
            Self::MmAsInch => "millimetres were typed where inches were asked",
            Self::InchAsMm => "inches were typed where millimetres were asked",
            Self::PointRight => "the decimal point is one place too far right",
            Self::PointLeft => "the decimal point is one place too far left",
        }
    }
}

/// The first slip whose undoing makes `typed` fit; `None` where no single slip explains it.
pub fn likeliest(typed: Quantity, fits: impl Fn(Quantity) -> bool) -> Option<Likely> {
    if typed.amount.is_zero() {
        return None;
    }
    // Speeds of the spindle and times are typed alike by those who think in inches.
    let of_length = typed.dimension.length == 1;
    let mut possible = Slip::ALL
        .into_iter()
        .filter(|(slip, ..)| of_length || !matches!(slip, Slip::MmAsInch | Slip::InchAsMm));
    possible.find_map(|(slip, num, den)| {
        let factor = Exact::fraction(num, den)?;
        let meant = Quantity {
            amount: typed.amount.times(factor)?,
            ..typed
        };
        fits(meant).then_some(Likely { slip, meant })
    })
}

#[cfg(test)]
mod tests {
    use super::{Slip, likeliest};
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::range::Bounds;
    use crate::quantity::unit::Unit;
    use crate::quantity::value::Quantity;

    fn q(text: &str, unit: &str) -> Quantity {
        let unit = Unit::find(unit).unwrap();
        quantity(text, &unit, DecimalMark::Point).unwrap().quantity
    }

    #[test]
    fn inches_are_no_slip_where_no_length_is_asked() {
        // 9000 rpm against at most 6000: a twenty-fifth of it fits, but nobody types speeds in inches.
        let most = q("6000 rpm", "rpm");
        let least = q("200 rpm", "rpm");
        let fits = |v: Quantity| {
            let bounds = Bounds {
                at_least: Some(least),
                at_most: Some(most),
                ..Bounds::default()
            };
            bounds.breach(v).is_none()
        };
        let found = likeliest(q("9000", "rpm"), fits);
        assert_eq!(found.map(|l| l.slip), Some(Slip::PointRight));
        assert_eq!(likeliest(q("6001", "rpm"), |v| v == most), None);
    }

    #[test]
    fn the_slip_is_named() {
        let bounds = Bounds {
            at_least: Some(q("0.002", "in")),
            at_most: Some(q("0.03", "in")),
            ..Bounds::default()
        };
        for (typed, slip) in [
            ("-0.006", Some(Slip::Sign)),
            ("6", Some(Slip::Thousandths)),
            ("0.2", Some(Slip::MmAsInch)),
            ("0.0002", Some(Slip::InchAsMm)),
            ("0", None),
            ("90", None),
        ] {
            let found = likeliest(q(typed, "in"), |v| bounds.breach(v).is_none());
            assert_eq!(found.map(|l| l.slip), slip, "{typed}");
        }
    }
}
