//! The slip that most likely explains a value out of range.

use super::dimension::Dimension;
use super::exact::Exact;
use super::value::Quantity;

/// A mistake that turns the intended value into the typed value.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slip {
    /// A minus sign was lost or added.
    Sign,
    /// Thousandths of an inch were typed as millimetres: 6 for 6 thou.
    Thou,
    /// Thousandths were typed as whole units: 6 for 6 thou at a prompt for inches.
    Thousandths,
    /// A whole unit was typed as thousandths.
    Thousandfold,
    /// A figure in millimetres was typed as inches, at a prompt for inches or followed by the inch mark.
    MmAsInch,
    /// A figure in inches was typed as millimetres.
    InchAsMm,
    /// The decimal point is one place too far right.
    PointRight,
    /// The decimal point is one place too far left.
    PointLeft,
}

/// A slip, and the value that was probably intended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LikelySlip {
    /// What happened.
    pub slip: Slip,
    /// The value without the slip; it fits the limits.
    pub meant: Quantity,
}

impl Slip {
    /// All slips, each with the factor that undoes it, as a fraction.
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

    /// The slip in words that complete "perhaps …".
    pub(crate) fn words(self) -> &'static str {
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

/// The only slip whose correction makes `typed` fit; `None` where there is none, or more than one: then nothing shows
/// which of them it was.
///
/// So where the intended value fits and the slip is one of these, either the true slip is named or none.
pub fn likeliest(typed: Quantity, fits: impl Fn(Quantity) -> bool) -> Option<LikelySlip> {
    let mut fitting = explanations(typed, fits);
    let only = fitting.next()?;
    fitting.next().is_none().then_some(only)
}

/// Every slip whose correction makes `typed` fit, with the intended value.
pub(crate) fn explanations(
    typed: Quantity,
    fits: impl Fn(Quantity) -> bool,
) -> impl Iterator<Item = LikelySlip> {
    // Spindle speeds and times are typed alike in both unit systems.
    let of_length = typed.dimension.length == 1;
    let possible = Slip::ALL.into_iter().filter(move |(slip, ..)| match slip {
        // Thousandths are thousandths of an inch: at a prompt for millimetres the slip is `Thou`.
        Slip::MmAsInch | Slip::Thousandths => of_length && reads_as_inches(typed),
        Slip::InchAsMm => of_length && reads_as_mm(typed),
        // Thou are given in whole numbers.
        Slip::Thou => typed.dimension == Dimension::LENGTH && figures(typed).0 == Some(0),
        Slip::Thousandfold => of_length,
        _ => true,
    });
    let possible = possible.filter(move |_| !typed.amount.is_zero());
    possible.filter_map(move |(slip, num, den)| {
        let factor = Exact::fraction(num, den)?;
        let meant = Quantity {
            amount: typed.amount.times(factor)?,
            ..typed
        };
        fits(meant).then_some(LikelySlip { slip, meant })
    })
}

/// Number of decimals of a figure in its unit; `None` above six, which nobody types.
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

/// Number of decimals of a length as a figure in millimetres and in inches. It is not stored which of the two was
/// typed, but a typed figure is the shorter one: 0.8 mm is not a short figure in inches, and 4.1 in is shorter than
/// 104.14 mm.
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
    use super::{Slip, explanations, likeliest};
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::range::Bounds;
    use crate::quantity::unit::Unit;
    use crate::quantity::value::Quantity;
    use crate::quantity::{Exact, Length};

    fn q(text: &str, unit: &str) -> Quantity {
        let unit = Unit::find(unit).unwrap();
        quantity(text, &unit, DecimalMark::Point).unwrap().quantity
    }

    #[test]
    fn inches_are_no_slip_where_the_quantity_is_no_length() {
        // 9000 rpm with a limit of 6000: one twenty-fifth of it fits, but nobody types speeds in inches.
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
            ("0.6", Some(Slip::MmAsInch)),
            // 0.2 mm and 0.020 in would both fit, so neither slip is named.
            ("0.2", None),
            // A figure in inches cannot be taken for millimetres where it remains one in inches.
            ("0.0002", Some(Slip::PointLeft)),
            ("0", None),
            ("90", None),
        ] {
            let found = likeliest(q(typed, "in"), |v| bounds.breach(v).is_none());
            assert_eq!(found.map(|l| l.slip), slip, "{typed}");
        }
    }

    proptest::proptest! {
        /// Makes each slip on a value within its limits: the named slip is that one, or none.
        #[test]
        fn the_true_slip_is_named_or_none(
            true_counts in 1_i64..400_000_000, low in 0_i64..400_000_000, high in 0_i64..400_000_000, negative in proptest::bool::ANY, inch in proptest::bool::ANY,
        ) {
            let signed = |n: i64| if negative { -n } else { n };
            // In whole thousandths of an inch or hundredths of a millimetre, as read on a readout.
            let unit = if inch { 254_000 } else { 100_000 };
            let meant = signed((true_counts / unit).max(1) * unit);
            let of = |counts: i64| Quantity::from(Length::from_counts(counts).unwrap());
            let (low, high) = (meant - low, meant + high);
            let bounds = Bounds { at_least: Some(of(low)), at_most: Some(of(high)), ..Bounds::default() };
            let meant = of(meant);
            for (slip, num, den) in Slip::ALL {
                let slipped = Quantity {
                    amount: meant.amount.times(Exact::fraction(den, num).unwrap()).unwrap(),
                    ..meant
                };
                if bounds.breach(slipped).is_none() {
                    continue;
                }
                // Only slips that can be recognized from the figures: see `explanations`.
                let all: Vec<_> = explanations(slipped, |v| bounds.breach(v).is_none()).collect();
                if !all.iter().any(|l| l.slip == slip) {
                    continue;
                }
                let found = likeliest(slipped, |v| bounds.breach(v).is_none());
                proptest::prop_assert!(found.is_none_or(|l| l.slip == slip && l.meant == meant), "{:?} {:?}", slip, found);
                proptest::prop_assert_eq!(found.is_some(), all.len() == 1);
            }
        }
    }

    #[test]
    fn a_gap_of_25_at_an_inch_prompt_may_be_thou_or_millimetres() {
        let most = q("150 mm", "mm");
        let fits = |v: Quantity| {
            !v.amount.is_negative() && v.compare(most).is_ok_and(std::cmp::Ordering::is_le)
        };
        assert_eq!(likeliest(q("25", "in"), fits), None);
    }

    #[test]
    fn a_unit_slip_is_named_only_where_the_figure_suggests_it() {
        let most = |mm: &str| {
            let most = q(mm, "mm");
            move |v: Quantity| v.compare(most).is_ok_and(std::cmp::Ordering::is_le)
        };
        let slip = |typed: &str, most: &dyn Fn(Quantity) -> bool| {
            likeliest(q(typed, "mm"), most).map(|l| l.slip)
        };
        // 0.0315 mm would fit, but nobody types 0.8 for it at a prompt for millimetres.
        let skim = |v: Quantity| most("0.12")(v) && most("-0.02")(v.negated());
        assert_eq!(slip("0.8", &skim), Some(Slip::PointRight));
        // 6 for 6 thou, which is 0.1524 mm; a thousandth of 6 mm would fit as well, and is 25 times too small.
        let thou = likeliest(q("6", "mm"), |v| most("0.5")(v) && most("0")(v.negated())).unwrap();
        assert_eq!((thou.slip, thou.meant), (Slip::Thou, q("6 thou", "mm")));
        // 4.1 in where 4.1 mm was intended.
        let block = |v: Quantity| most("5")(v) && most("-2")(v.negated());
        assert_eq!(slip("4.1 in", &block), Some(Slip::MmAsInch));
        // An inch readout typed at a millimetre prompt: 0.0787 for 2 mm.
        let deep = |v: Quantity| most("3")(v) && most("-1")(v.negated());
        assert_eq!(slip("0.0787", &deep), Some(Slip::InchAsMm));
    }
}
