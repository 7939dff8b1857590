//! Twenty-five values from handbooks, textbooks and standards, or derived from their formulas: the results that the
//! arithmetic must always give. Each row names its source; two rows are tested elsewhere and say where.
#![allow(clippy::unwrap_used, clippy::panic)]

use skimgate::cutting::approach::approach;
use skimgate::cutting::deflection::{CutterBody, bend};
use skimgate::cutting::raster::raster;
use skimgate::cutting::speeds::{chip_load, feed, removal_rate, spindle_speed, surface_speed};
use skimgate::cutting::{heat, load, thinning, touch_uncertainty, tram};
use skimgate::plate::{Frame, Limits, Plan, Reading, Series, ZeroMode};
use skimgate::quantity::parse::{DecimalMark, quantity};
use skimgate::quantity::{Exact, Length, Quantity, Unit};

const GROOVER: &str =
    "face-milling problem of a textbook (Groover by attribution): inputs found, output computed";
const STANFORD: &str = "Stanford University student shop handout, 2001";
const EL_HOFY: &str = "El-Hofy, Fundamentals of Machining Processes, 2nd ed. 2013, p. 189";
const HANDBOOK: &str = "Machinery's Handbook, 31st ed. 2020, p. 1147";
const KOPS_VO: &str = "Kops and Vo, CIRP Annals 39/1, 1990 (rule), computed";
const CALLISTER: &str = "Callister, Table B.6 (expansion of 6061), computed";
const COMPUTED: &str = "computed from the formula";
const DERIVED: &str = "derived";
const BRUTE: &str = "derived, checked by brute force over the envelope";

struct Row {
    number: u8,
    source: &'static str,
    found: Vec<(f64, f64, f64)>,
}

/// A row: found values, each with the expected value and the tolerance.
fn row(number: u8, source: &'static str, found: &[(f64, f64, f64)]) -> Row {
    Row {
        number,
        source,
        found: found.to_vec(),
    }
}

fn q(text: &str) -> Quantity {
    let unit = text.split_once(' ').map_or("", |(_, unit)| unit);
    if unit.is_empty() {
        return Quantity::ratio(Exact::from_text(text).unwrap());
    }
    quantity(text, &Unit::find(unit).unwrap(), DecimalMark::Point)
        .unwrap()
        .quantity
}

fn l(text: &str) -> Length {
    Length::exactly(q(text)).unwrap()
}

fn to(found: Quantity, unit: &str) -> f64 {
    found.in_unit(&Unit::find(unit).unwrap()).unwrap().to_f64()
}

fn ratio(found: Quantity) -> f64 {
    found.amount.to_f64()
}

fn speeds_and_feeds() -> Vec<Row> {
    let n = |v: &str, d: &str| to(spindle_speed(q(v), q(d)).unwrap(), "rpm");
    let shop_rule = 4.0 * 100.0 / 0.375; // the rule itself, compared with the exact formula
    let vf = |chip: &str, rpm: &str, z: &str| to(feed(q(chip), q(rpm), q(z)).unwrap(), "in/min");
    let rate = |b: &str, w: &str, f: &str| removal_rate(q(b), q(w), q(f)).unwrap();
    let a = approach(q("3 in"), q("2 in")).unwrap();
    let time = q("12 in").plus(a).unwrap().over(q("9.549 in/min")).unwrap();
    let chip = chip_load(q("120 mm/min"), q("150 rpm"), q("8 teeth")).unwrap();
    let rim = surface_speed(q("30 mm"), q("150 rpm")).unwrap();
    vec![
        row(1, GROOVER, &[(n("250 ft/min", "3 in"), 318.31, 0.05)]),
        row(
            2,
            STANFORD,
            &[
                (shop_rule, 1067.0, 0.5),
                (n("100 ft/min", "0.375 in"), 1018.6, 0.1),
            ],
        ),
        row(
            3,
            STANFORD,
            &[(vf("0.005 in/tooth", "1000 rpm", "4 teeth"), 20.0, 0.0)],
        ),
        row(
            4,
            GROOVER,
            &[(vf("0.006 in/tooth", "318.31 rpm", "5 teeth"), 9.549, 0.001)],
        ),
        row(
            5,
            GROOVER,
            &[(
                to(rate("0.15 in", "2 in", "9.549 in/min"), "in3/min"),
                2.865,
                0.001,
            )],
        ),
        row(
            6,
            GROOVER,
            &[
                (to(a, "in"), 0.38197, 1e-4),
                (to(time, "min"), 1.2966, 1e-4),
            ],
        ),
        // The speed that gives a chip of 0.1 mm at 120 mm/min with 8 teeth.
        row(
            7,
            EL_HOFY,
            &[
                (to(chip, "mm/tooth"), 0.1, 1e-12),
                (to(rim, "m/min"), 14.137, 0.01),
            ],
        ),
    ]
}

fn loads() -> Vec<Row> {
    let rate = removal_rate(q("4 mm"), q("30 mm"), q("120 mm/min")).unwrap();
    let power = load::power(q("1 J/mm3"), rate).unwrap(); // 1000 N/mm2
    let motor = power.over(q("0.9")).unwrap();
    let torque = load::torque(q("0.24 kW"), q("150 rpm")).unwrap();
    let unit_power = |hp: &str| to(q(hp).over(q("1 in3/min")).unwrap(), "J/mm3");
    let n = spindle_speed(q("600 ft/min"), q("0.5 in")).unwrap();
    let vf = feed(q("0.003 in/tooth"), n, q("3 teeth")).unwrap();
    let skim = removal_rate(q("0.02 in"), q("0.3 in"), vf).unwrap();
    let hp = load::power(q("0.3 hp").over(q("1 in3/min")).unwrap(), skim).unwrap();
    let thin = |k: &str| ratio(thinning::beside_the_middle(q(k), q("10 mm")).unwrap());
    let bent = bend(q("50 N"), q("19.05 mm"), q("6.35 mm"), CutterBody::Carbide).unwrap();
    let alone = bend(q("50 N"), q("19.05 mm"), q("5.08 mm"), CutterBody::Carbide).unwrap();
    vec![
        row(
            8,
            EL_HOFY,
            &[
                (to(power, "kW"), 0.24, 0.001),
                (to(motor, "kW"), 0.267, 0.001),
            ],
        ),
        row(9, COMPUTED, &[(to(torque, "N.m"), 15.28, 0.01)]),
        row(
            10,
            HANDBOOK,
            &[
                (unit_power("0.63 hp"), 1.72, 0.005),
                (unit_power("0.74 hp"), 2.02, 0.005),
                (unit_power("1 hp"), 2.73, 0.005),
            ],
        ),
        row(
            11,
            COMPUTED,
            &[
                (to(n, "rpm"), 4583.7, 0.1),
                (to(vf, "in/min"), 41.25, 0.01),
                (to(skim, "in3/min"), 0.2475, 1e-4),
                (to(hp, "hp"), 0.0743, 1e-4),
            ],
        ),
        row(
            12,
            DERIVED,
            &[
                (thin("1 mm"), 0.6, 1e-4),
                (thin("4 mm"), 0.9798, 1e-4),
                (thin("6 mm"), 1.0, 1e-4),
            ],
        ),
        // A rod of 0.8 of the diameter bends 1 / 0.8^4 = 2.441 times as far.
        row(
            13,
            KOPS_VO,
            &[
                (to(bent.sideways, "mm"), 0.005_874, 1e-6),
                (
                    ratio(alone.sideways.over(bent.sideways).unwrap()),
                    2.441,
                    1e-3,
                ),
            ],
        ),
    ]
}

fn face() -> Vec<Row> {
    let r = raster(q("12 in"), q("8 in"), q("0.5 in"), q("0.3 in"), q("0.1 in")).unwrap();
    let time = r.path.over(q("40 in/min")).unwrap();
    let whole = raster(q("12 in"), q("8 in"), q("0.5 in"), q("0.375 in"), q("0 in")).unwrap();
    let limits = Limits {
        max_bite: l("0.015 in"),
        finish: Some(l("0.005 in")),
        step: None,
    };
    let plan = Plan::new(l("0 in"), l("-0.045 in"), limits).unwrap();
    let rough = Quantity::from(plan.passes[0].bite);
    let lean = tram::tilt(q("0.001 in"), q("6 in")).unwrap();
    let angle = ratio(lean).atan().to_degrees() * 3600.0;
    let over = lean.times(q("300 mm")).unwrap();
    let theta = q("0.00016667");
    let (step, d) = (q("0.3 in"), q("0.5 in"));
    let ridge = tram::ridge(step, theta).unwrap();
    let hollow = tram::hollow(step, d, theta).unwrap();
    let both = tram::left_between(step, d, theta, theta).unwrap();
    let rows = |n: i64| f64::from(i32::try_from(n).unwrap());
    vec![
        row(
            14,
            DERIVED,
            &[
                (rows(r.rows), 27.0, 0.0),
                (to(r.step, "in"), 0.29615, 1e-3),
                (to(r.path, "in"), 350.60, 1e-3),
                (to(time, "min"), 8.765, 1e-3),
            ],
        ),
        row(15, DERIVED, &[(rows(whole.rows), 21.0, 0.0)]),
        row(
            16,
            DERIVED,
            &[
                (rows(plan.passes.len().try_into().unwrap()), 4.0, 0.0),
                (to(rough, "in"), 0.013_333, 1e-6),
            ],
        ),
        row(
            17,
            COMPUTED,
            &[
                (ratio(lean), 1.6667e-4, 1.7e-7),
                (angle, 34.38, 0.034),
                (to(over, "mm"), 0.05, 5e-5),
            ],
        ),
        row(18, BRUTE, &[(to(ridge, "in"), 5e-5, 1e-8)]),
        row(19, BRUTE, &[(to(hollow, "in"), 8.333e-6, 1e-8)]),
        row(20, BRUTE, &[(to(both, "in"), 2.643e-5, 1e-8)]),
    ]
}

fn heights() -> Vec<Row> {
    let mut series = Series::new(ZeroMode::Running, Frame::default());
    let read = [
        ("1", "0 in", false),
        ("2", "-0.004 in", true),
        ("3", "0.0025 in", false),
        ("4", "-0.0015 in", true),
        ("5", "0.006 in", false),
    ];
    for (point, reading, lower) in read {
        series
            .touch(
                point,
                Reading {
                    readout: Some(l(reading)),
                    machine: None,
                },
            )
            .unwrap();
        if lower {
            series.zeroed().unwrap();
        }
    }
    let heights = series.heights();
    let lowest = heights.lowest().unwrap().height;
    let above: Vec<(f64, f64, f64)> = heights
        .points()
        .iter()
        .zip([0.0055, 0.0015, 0.004, 0.0, 0.006])
        .map(|(p, expected)| {
            (
                to(p.height.minus(lowest).unwrap().into(), "in"),
                expected,
                1e-9,
            )
        })
        .chain([
            (to(lowest.into(), "in"), -0.0055, 1e-9),
            (to(heights.spread().unwrap().into(), "in"), 0.006, 1e-9),
        ])
        .collect();
    vec![row(21, DERIVED, &above)]
}

fn heat_and_uncertainty() -> Vec<Row> {
    let a = heat::expansion("aluminium").unwrap();
    let long = heat::growth(a, q("300 mm"), q("5")).unwrap();
    let bow = heat::bow(a, q("300 mm"), q("25 mm"), q("1")).unwrap();
    let parts = touch_uncertainty::UncertaintyParts {
        step: q("0.001 in"),
        seeing: q("0.0003 in"),
        axis: q("0.0002 in"),
        growth: q("0.0003 in"),
    };
    let uncertainty = parts.uncertainty().unwrap();
    vec![
        row(
            24,
            CALLISTER,
            &[
                (to(long, "mm"), 0.0354, 1e-5),
                (to(bow, "mm"), 0.01062, 1e-5),
            ],
        ),
        row(
            25,
            DERIVED,
            &[
                (to(uncertainty.standard, "in"), 0.000_493, 1e-6),
                (to(uncertainty.expanded, "in"), 0.000_987, 1e-6),
            ],
        ),
    ]
}

/// Twist over corners and centre, and nine points: tested where planes are fitted.
const ELSEWHERE: [(u8, &str); 2] = [(22, "plate::fit"), (23, "plate::fit")];

#[test]
fn every_value_is_met_and_every_row_is_tested() {
    let rows: Vec<Row> = [
        speeds_and_feeds(),
        loads(),
        face(),
        heights(),
        heat_and_uncertainty(),
    ]
    .into_iter()
    .flatten()
    .collect();
    for row in &rows {
        for (found, expected, within) in &row.found {
            assert!(
                (found - expected).abs() <= *within,
                "row {} ({}): {found} is not {expected} within {within}",
                row.number,
                row.source
            );
        }
    }
    let mut numbers: Vec<u8> = rows.iter().map(|r| r.number).collect();
    numbers.extend(ELSEWHERE.map(|(number, _)| number));
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=25).collect::<Vec<_>>());
}
