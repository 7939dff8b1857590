//! Properties of quantities that hold whatever a person types. Expected texts are written here from whole numbers, so
//! that reading is not tested only against the project's own writing.
//!
//! Source: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959), so a millionth of an inch is 254
//! tenths of a nanometre.

use proptest::prelude::*;
use proptest::sample::select;
use skimgate::quantity::format::QuantityFormat;
use skimgate::quantity::moment::Moment;
use skimgate::quantity::parse::{DecimalMark, quantity};
use skimgate::quantity::parse_error::Problem;
use skimgate::quantity::range::Bounds;
use skimgate::quantity::slip::{Slip, likeliest};
use skimgate::quantity::{Dimension, Exact, Length, Quantity, QuantityError, Unit, UnitSystem};

const KINDS: [Dimension; 14] = [
    Dimension::RATIO,
    Dimension::LENGTH,
    Dimension::TIME,
    Dimension::MASS,
    Dimension::ANGLE,
    Dimension::SPINDLE_SPEED,
    Dimension::FEED,
    Dimension::CHIP_LOAD,
    Dimension::TEETH,
    Dimension::AREA,
    Dimension::REMOVAL_RATE,
    Dimension::POWER,
    Dimension::SPECIFIC_ENERGY,
    Dimension::ACCELERATION,
];

/// Amounts that people type, fractions that no decimal represents, and amounts at the limit of the range.
fn amounts() -> impl Strategy<Value = Exact> {
    let typed = (-2_000_000_000_i64..2_000_000_000, 0_u32..8)
        .prop_map(|(n, places)| (i128::from(n), 10_i128.pow(places)));
    let fractions = (-100_000_i128..100_000, 1_i128..1000);
    let edge = (1_i128 << 119)..(1_i128 << 120);
    let edges = (edge, select(vec![1, 2, 3, 1 << 20, (1 << 119) + 1])).prop_map(|(n, d)| (-n, d));
    prop_oneof![4 => typed, 3 => fractions, 1 => edges]
        .prop_filter_map("held", |(n, d)| Exact::fraction(n, d))
}

fn kinds() -> impl Strategy<Value = Dimension> {
    let powers = || -3_i8..=3;
    let any = (powers(), powers(), powers(), powers(), powers()).prop_map(
        |(length, time, mass, turn, tooth)| Dimension {
            length,
            time,
            mass,
            turn,
            tooth,
        },
    );
    prop_oneof![5 => select(&KINDS[..]), 1 => any]
}

prop_compose! {
    fn quantities()(amount in amounts(), dimension in kinds()) -> Quantity { Quantity { amount, dimension } }
}

fn systems() -> impl Strategy<Value = UnitSystem> {
    select(vec![UnitSystem::Mm, UnitSystem::Inch])
}

fn lengths() -> impl Strategy<Value = Length> {
    let near = -1_000_000_000_i64..1_000_000_000;
    prop_oneof![4 => near, 1 => -Length::LIMIT..=Length::LIMIT]
        .prop_map(|n| Length::from_counts(n).unwrap())
}

/// `n` divided by `10^places`, as decimal text.
fn decimal(n: i64, places: usize) -> String {
    let digits = format!("{:0width$}", n.unsigned_abs(), width = places + 1);
    let (whole, rest) = digits.split_at(digits.len() - places);
    format!("{}{whole}.{rest}", if n < 0 { "-" } else { "" })
}

/// A number of millionths of an inch, as an inch text and a millimetre text.
fn both_texts(microinches: i64) -> [String; 2] {
    [
        format!("{} in", decimal(microinches, 6)),
        format!("{} mm", decimal(microinches * 254, 7)),
    ]
}

fn typed(text: &str, unit: &Unit) -> Quantity {
    quantity(text, unit, DecimalMark::Point).unwrap().quantity
}

/// A length as typed at a prompt for millimetres.
fn length(text: &str) -> Quantity {
    typed(text, &UnitSystem::Mm.length())
}

proptest! {
    #[test]
    fn the_stored_form_gives_the_same_value_back(q in quantities()) {
        prop_assert_eq!(Quantity::from_canonical(&q.canonical()), Some(q), "{}", q.canonical());
        let json = serde_json::to_string(&q).unwrap();
        prop_assert_eq!(serde_json::from_str::<Quantity>(&json).unwrap(), q);
    }

    #[test]
    fn a_stored_length_gives_the_same_length_back(l in lengths()) {
        let json = serde_json::to_string(&l).unwrap();
        prop_assert_eq!(serde_json::from_str::<Length>(&json).unwrap(), l);
        prop_assert_eq!(Length::exactly(Quantity::from(l)), Some(l));
    }

    /// A text with a tilde is rounded; every other text must be the value itself, or have more digits than are read.
    #[test]
    fn a_form_shown_as_exact_is_the_value(q in quantities(), system in systems(), signed in any::<bool>()) {
        // A computed length finer or longer than typed lengths can be is only displayed.
        prop_assume!(q.dimension != Dimension::LENGTH || Length::exactly(q).is_some());
        let show = QuantityFormat {
            signed,
            ..QuantityFormat::new(system)
        };
        let text = show.one(q);
        if let Some(unit) = Unit::usual(q.dimension, system).filter(|_| !text.starts_with('~') && !text.contains(" base ")) {
            match quantity(&text, &unit, DecimalMark::Point) {
                Ok(read) => prop_assert_eq!(read.quantity, q, "{}", text),
                Err(e) => prop_assert!(e.problem == Problem::TooLong && text.len() > 36, "{}: {}", text, e),
            }
        }
    }

    #[test]
    fn a_length_that_a_readout_shows_is_shown_exactly(tenth_um in -10_000_000_i64..10_000_000) {
        let l = Length::from_counts(tenth_um * 1000).unwrap();
        let text = QuantityFormat::new(UnitSystem::Mm).one(l.into());
        prop_assert!(!text.starts_with('~'), "{}", text);
        prop_assert_eq!(length(&text), l.into());
        prop_assert_eq!(length(&format!("{} mm", decimal(tenth_um, 4))), l.into());
    }

    #[test]
    fn the_same_length_in_either_system_is_the_same(n in -900_000_000_i64..900_000_000) {
        let [inch, mm] = both_texts(n);
        prop_assert_eq!(length(&inch), length(&mm));
        prop_assert_eq!(Length::exactly(length(&inch)).unwrap().counts(), n * 254);
        prop_assert_eq!(length(&format!("{n} uin")), length(&mm));
        prop_assert_eq!(length(&format!("{} thou", decimal(n, 3))), length(&mm));
        let bare = typed(&decimal(n, 6), &UnitSystem::Inch.length());
        prop_assert_eq!(bare, length(&mm));
    }

    #[test]
    fn a_comma_where_declared_reads_as_the_point(n in -900_000_000_i64..900_000_000) {
        let text = decimal(n, 4);
        let comma = quantity(&text.replace('.', ","), &UnitSystem::Mm.length(), DecimalMark::Comma).unwrap();
        prop_assert_eq!(comma.quantity, length(&text));
        prop_assert!(comma.bare);
    }

    #[test]
    fn on_the_limit_passes_in_both_systems_and_one_count_beyond_does_not(n in -900_000_i64..900_000, limit_inch in any::<bool>()) {
        let texts = both_texts(n);
        let limit = length(&texts[usize::from(!limit_inch)]);
        let counts = n * 254;
        let moved_by = |by: i64| length(&format!("{} mm", decimal(counts + by, 7)));
        let none = Bounds::default();
        let closed = [
            (Bounds { at_most: Some(limit), ..none }, 1),
            (Bounds { at_least: Some(limit), ..none }, -1),
        ];
        for (bounds, beyond) in closed {
            for text in &texts {
                prop_assert_eq!(bounds.breach(length(text)), None, "{}", text);
            }
            prop_assert_eq!(bounds.breach(moved_by(-beyond)), None);
            prop_assert_eq!(bounds.breach(moved_by(beyond)).map(|b| b.bound), Some(limit));
        }
        let open = [
            (Bounds { less_than: Some(limit), ..none }, -1),
            (Bounds { more_than: Some(limit), ..none }, 1),
        ];
        for (bounds, within) in open {
            for text in &texts {
                prop_assert!(bounds.breach(length(text)).is_some(), "{}", text);
            }
            prop_assert_eq!(bounds.breach(moved_by(within)), None);
        }
        let exactly = Bounds { exactly: Some(limit), ..none };
        for text in &texts {
            prop_assert_eq!(exactly.breach(length(text)), None, "{}", text);
        }
        prop_assert!(exactly.breach(moved_by(1)).is_some() && exactly.breach(moved_by(-1)).is_some());
    }

    #[test]
    fn a_limit_of_another_kind_never_passes(q in quantities(), other in quantities()) {
        prop_assume!(q.dimension != other.dimension);
        let none = Bounds::default();
        for bounds in [
            Bounds { at_most: Some(other), ..none },
            Bounds { at_least: Some(other), ..none },
            Bounds { less_than: Some(other), ..none },
            Bounds { more_than: Some(other), ..none },
            Bounds { exactly: Some(other), ..none },
        ] {
            prop_assert!(bounds.breach(q).is_some());
        }
    }

    #[test]
    fn sums_and_differences_undo_each_other(a in quantities(), b in amounts(), c in amounts()) {
        let (b, c) = (Quantity { amount: b, ..a }, Quantity { amount: c, ..a });
        prop_assert_eq!(a.plus(b), b.plus(a));
        prop_assert_eq!(a.minus(a).unwrap().amount, Exact::ZERO);
        if let Ok(sum) = a.plus(b) {
            prop_assert_eq!(sum.minus(b), Ok(a));
            prop_assert_eq!(a.minus(b.negated()), Ok(sum));
            if let (Ok(left), Ok(bc)) = (sum.plus(c), b.plus(c)) {
                // Where both ways are in range they agree.
                prop_assert!(a.plus(bc).is_ok_and(|right| right == left) || a.plus(bc) == Err(QuantityError::TooLarge));
            }
        }
    }

    #[test]
    fn products_and_quotients_undo_each_other(a in quantities(), b in quantities()) {
        prop_assert_eq!(a.times(b), b.times(a));
        if let Ok(product) = a.times(b) {
            let expected = if b.amount.is_zero() { Err(QuantityError::DividedByNought) } else { Ok(a) };
            prop_assert_eq!(product.over(b), expected);
        }
    }

    #[test]
    fn different_kinds_neither_add_nor_compare(a in quantities(), b in quantities()) {
        prop_assume!(a.dimension != b.dimension);
        let mismatch = QuantityError::Mismatch(a.dimension, b.dimension);
        prop_assert_eq!(a.plus(b), Err(mismatch));
        prop_assert_eq!(a.minus(b), Err(mismatch));
        prop_assert_eq!(a.compare(b), Err(mismatch));
    }

    #[test]
    fn lengths_add_as_their_counts_do(a in lengths(), b in lengths()) {
        let sum = a.counts() + b.counts();
        let held = sum.abs() <= Length::LIMIT;
        prop_assert_eq!(a.plus(b).map(Length::counts), held.then_some(sum));
        prop_assert_eq!(a.plus(b), a.minus(b.negated()));
        if let Some(sum) = a.plus(b) {
            prop_assert_eq!(sum.minus(b), Some(a));
            prop_assert_eq!(Quantity::from(a).plus(b.into()), Ok(sum.into()));
        }
    }

    #[test]
    fn correcting_the_named_slip_fits_and_repeating_it_gives_the_typed_value(
        low in 1_i64..10_000_000, wide in 0_i64..10_000_000, typed in -100_000_000_i64..100_000_000,
    ) {
        let mm = |n: i64| length(&decimal(n, 4));
        let bounds = Bounds { at_least: Some(mm(low)), at_most: Some(mm(low + wide)), ..Bounds::default() };
        let fits = |q: Quantity| bounds.breach(q).is_none();
        prop_assume!(!fits(mm(typed)));
        if let Some(likely) = likeliest(mm(typed), fits) {
            prop_assert!(fits(likely.meant));
            prop_assert_eq!(slipped(likely.meant, likely.slip), mm(typed));
        }
    }

    #[test]
    fn a_slip_away_from_a_value_that_fits_is_noticed(meant in 1_i64..10_000_000, slip in select(&SLIPS[..])) {
        // A typed figure has few decimals, in the unit in which it was read. A multiple of 127 can be a shorter figure
        // in the other unit, and is then taken for one.
        prop_assume!(meant % 127 != 0);
        let inch = matches!(slip, Slip::InchAsMm | Slip::Thousandths);
        let unit = if inch { "in" } else { "mm" };
        let meant = length(&format!("{} {unit}", decimal(meant, 4)));
        let slipped = slipped(meant, slip);
        let found = likeliest(slipped, |q| q == meant);
        prop_assert_eq!(found.map(|f| (f.slip, f.meant)), Some((slip, meant)));
    }
}

const SLIPS: [Slip; 7] = [
    Slip::Sign,
    Slip::Thousandths,
    Slip::Thousandfold,
    Slip::MmAsInch,
    Slip::InchAsMm,
    Slip::PointRight,
    Slip::PointLeft,
];

/// The value that is typed when `meant` is intended and the slip happens.
fn slipped(meant: Quantity, slip: Slip) -> Quantity {
    let (num, den) = match slip {
        Slip::Sign => (-1, 1),
        // Happens only with whole figures, so not among those tried here.
        Slip::Thou => (5000, 127),
        Slip::Thousandths => (1000, 1),
        Slip::Thousandfold => (1, 1000),
        Slip::MmAsInch => (254, 10),
        Slip::InchAsMm => (10, 254),
        Slip::PointRight => (10, 1),
        Slip::PointLeft => (1, 10),
    };
    meant
        .times(Quantity::ratio(Exact::fraction(num, den).unwrap()))
        .unwrap()
}

/// Text that begins like a number.
fn near_numbers() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        4 => "[0-9]{1,3}",
        1 => "[0-9]{35,60}",
        2 => select(vec![".", ",", "/", "⁄", "-", "+", "−", "–", " ", "e", "E", "1/", " 1/2", "\u{a0}", "\t"]).prop_map(str::to_owned),
        2 => select(Unit::spellings().collect::<Vec<_>>()).prop_map(str::to_owned),
        1 => select(vec!["NaN", "inf", "mm/", "/mm", "mm^", "mm9", "µ", "°", "é2", "٣", "½", "0x1", "1_000"]).prop_map(str::to_owned),
    ];
    prop::collection::vec(piece, 0..8).prop_map(|pieces| pieces.concat())
}

fn asked() -> impl Strategy<Value = Unit> {
    let units = [
        "mm", "in", "thou", "rpm", "%", "mm/min", "in/tooth", "deg", "teeth", "s", "kW",
    ];
    select(units.to_vec()).prop_map(|u| Unit::find(u).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]
    #[test]
    fn nothing_typed_panics_and_every_error_points_into_the_text(
        text in prop_oneof![3 => near_numbers(), 1 => any::<String>(), 1 => "\\PC{0,300}"],
        unit in asked(),
        mark in select(vec![DecimalMark::Point, DecimalMark::Comma]),
    ) {
        match quantity(&text, &unit, mark) {
            Ok(read) => {
                prop_assert_eq!(read.quantity.dimension, unit.dimension);
                prop_assert_eq!(Quantity::from_canonical(&read.quantity.canonical()), Some(read.quantity));
                if unit.dimension == Dimension::LENGTH {
                    prop_assert!(Length::exactly(read.quantity).is_some());
                }
                for system in [UnitSystem::Mm, UnitSystem::Inch] {
                    prop_assert!(!QuantityFormat::new(system).both(read.quantity).is_empty());
                }
            }
            Err(error) => {
                prop_assert!(text.get(error.at.clone()).is_some(), "{:?} in {:?}", error.at, text);
                prop_assert!(!error.to_string().is_empty());
            }
        }
        // Whatever the result, the functions return.
        let _ = (Quantity::from_canonical(&text), Unit::find(&text), UnitSystem::from_word(&text), text.parse::<Moment>());
    }
}
