//! The likeliest slip behind a value out of range.

use super::dimension::Dimension;
use super::exact::Exact;
use super::value::Quantity;

/// A slip of the hand or head that turns the value meant into the value typed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slip {
    /// A minus sign lost or added.
    Sign,
    /// Thousandths of an inch typed as millimetres: 6 for 6 thou.
    Thou,
    /// Thousandths typed as whole units: 6 for 6 thou at a prompt for inches.
    Thousandths,
    /// A whole unit typed as thousandths.
    Thousandfold,
    /// A figure in millimetres typed as inches, at a prompt for inches or with their mark behind it.
    MmAsInch,
    /// A figure in inches typed as millimetres.
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
    const ALL: [(Self, i128, i128); 8] = [
        (Self::Sign, -1, 1),
        (Self::Thou, 127, 5000),
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
            Self::Thou => "thou were typed as millimetres",
            Self::Thousandths => "thousandths were typed as whole units",
            Self::Thousandfold => "a whole unit was typed as thousandths",
            Self::MmAsInch => "a figure in millimetres was taken for inches",
            Self::InchAsMm => "a figure in inches was taken for millimetres",
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
    let mut possible = Slip::ALL.into_iter().filter(|(slip, ..)| match slip {
        Slip::MmAsInch => of_length && reads_as_inches(typed),
        Slip::InchAsMm => of_length && reads_as_mm(typed),
        // Thou are said in whole figures.
        Slip::Thou => typed.dimension == Dimension::LENGTH && figures(typed).0 == Some(0),
        Slip::Thousandths | Slip::Thousandfold => of_length,
        _ => true,
    });
    possible.find_map(|(slip, num, den)| {
        let factor = Exact::fraction(num, den)?;
        let meant = Quantity {
            amount: typed.amount.times(factor)?,
            ..typed
        };
        fits(meant).then_some(Likely { slip, meant })
    })
}

/// Decimals of a figure in its unit; `None` past six, which nobody types.
fn decimals(figure: Option<Exact>) -> Option<u32> {
    let mut figure = figure?;
    let ten = Exact::whole(10);
    for count in 0..=6 {
        if figure.floor() == figure.ceil() {
            return Some(count);
        }
        figure = figure.times(ten)?;
    }
    None
}

/// Decimals of a length as a figure in millimetres and in inches. Which of the two was typed is not known any more, but a
/// typed figure is the shorter one: 0.8 mm is no figure in inches, and 4.1 in is a shorter one than 104.14 mm.
fn figures(length: Quantity) -> (Option<u32>, Option<u32>) {
    let inches = Exact::fraction(5, 127).and_then(|f| length.amount.times(f));
    (decimals(Some(length.amount)), decimals(inches))
}

fn reads_as_inches(typed: Quantity) -> bool {
    let (mm, inches) = figures(typed);
    typed.dimension != Dimension::LENGTH || inches.is_some_and(|i| mm.is_none_or(|m| i <= m))
}

fn reads_as_mm(typed: Quantity) -> bool {
    let (mm, inches) = figures(typed);
    typed.dimension != Dimension::LENGTH || mm.is_some_and(|m| inches.is_none_or(|i| m <= i))
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
            // A figure in inches cannot be taken for millimetres where it stays one in inches.
            ("0.0002", Some(Slip::PointLeft)),
            ("0", None),
            ("90", None),
        ] {
            let found = likeliest(q(typed, "in"), |v| bounds.breach(v).is_none());
            assert_eq!(found.map(|l| l.slip), slip, "{typed}");
        }
    }

    #[test]
    fn the_unit_is_blamed_only_where_the_figure_reads_so() {
        let most = |mm: &str| {
            let most = q(mm, "mm");
            move |v: Quantity| v.compare(most).is_ok_and(std::cmp::Ordering::is_le)
        };
        let slip = |typed: &str, most: &dyn Fn(Quantity) -> bool| {
            likeliest(q(typed, "mm"), most).map(|l| l.slip)
        };
        // 0.0315 mm would fit, but nobody who is asked for millimetres types 0.8 for it.
        let skim = |v: Quantity| most("0.12")(v) && most("-0.02")(v.negated());
        assert_eq!(slip("0.8", &skim), Some(Slip::PointRight));
        // 6 for 6 thou, which are 0.1524 mm; a thousandth of 6 mm would fit as well, and is 25 times too small.
        let thou = likeliest(q("6", "mm"), |v| most("0.5")(v) && most("0")(v.negated())).unwrap();
        assert_eq!((thou.slip, thou.meant), (Slip::Thou, q("6 thou", "mm")));
        // 4.1 in where 4.1 mm were meant.
        let block = |v: Quantity| most("5")(v) && most("-2")(v.negated());
        assert_eq!(slip("4.1 in", &block), Some(Slip::MmAsInch));
        // An inch readout typed at a millimetre prompt: 0.0787 for 2 mm.
        let deep = |v: Quantity| most("3")(v) && most("-1")(v.negated());
        assert_eq!(slip("0.0787", &deep), Some(Slip::InchAsMm));
    }
}
