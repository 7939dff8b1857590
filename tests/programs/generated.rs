//! Compares random facing programs with an independent, slower reference: the rows as generated, exact extents, length
//! over feed, and the uncovered part of the plate by a union of polygons (geo). 200 programs; more with
//! `SKIMGATE_TEST_PROGRAMS=2000 cargo test --locked --test programs generated`.

use crate::setting::{dialect, setup};
use geo::{Area, BooleanOps, LineString, MultiPolygon, Polygon, Rect, unary_union};
use skimgate::program::setting::PathMode;
use skimgate::program::study::study;
use skimgate::program::time::Dynamics;
use std::f64::consts::TAU;
use std::fmt::Write;

/// Random whole hundredths of a millimetre from a seed: the same on every machine.
struct Chance(u64);

impl Chance {
    fn below(&mut self, count: i64) -> i64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(self.0 >> 33).unwrap() % count
    }
}

/// A program, and the facts known from its generation.
struct Made {
    text: String,
    /// End points of every cut in the plane.
    cuts: Vec<[[f64; 2]; 2]>,
    rows: usize,
    step: f64,
    /// Length over feed, and over the rapid rate, in seconds.
    seconds: f64,
}

const FEED: f64 = 700.0;
const RAPID: f64 = 100.0;

/// Rows along an axis, back and forth or one way, in absolute or incremental mode, with or without line numbers.
#[allow(clippy::cast_precision_loss)]
fn made(seed: u64) -> Made {
    let mut chance = Chance(seed.wrapping_mul(977) + 1);
    for _ in 0..4 {
        chance.below(2);
    }
    let along = usize::from(chance.below(2) == 1);
    let (one_way, steps) = (chance.below(2) == 1, chance.below(2) == 1);
    let size = [200.0, 100.0];
    let count = 2 + chance.below(9);
    let step = 500 + chance.below(4500);
    let first = -1500 + chance.below(3000);
    let low = (-3000 + chance.below(4000)) as f64 / 100.0;
    let high = size[along] + (-1000 + chance.below(4000)) as f64 / 100.0;
    let place = |a: f64, b: f64| if along == 0 { [a, b] } else { [b, a] };
    let across = |n: i64| (first + n * step) as f64 / 100.0;
    let start = place(low, across(0));
    let mut text = format!(
        "G21 G17 G90 G94 G40 G49 G80\nG54\nT1 M6\nS1500 M3\nM8\nG0 X{:.2} Y{:.2} Z5\nG1 Z0 F{FEED}\n",
        start[0], start[1]
    );
    let mut at = start;
    let mut cuts = Vec::new();
    let mut seconds = 5.0 / FEED * 60.0;
    let to_there = |text: &mut String, at: &mut [f64; 2], to: [f64; 2], code: &str| {
        let d = [to[0] - at[0], to[1] - at[1]];
        if steps {
            let _ = writeln!(text, "G91 {code} X{:.2} Y{:.2}\nG90", d[0], d[1]);
        } else {
            let _ = writeln!(text, "{code} X{:.2} Y{:.2}", to[0], to[1]);
        }
        *at = to;
        d[0].hypot(d[1])
    };
    for n in 0..count {
        let back = !one_way && n % 2 == 1;
        let (from, to) = if back { (high, low) } else { (low, high) };
        let begin = place(from, across(n));
        if n > 0 {
            if one_way {
                let _ = writeln!(text, "G0 Z5");
                let d = [(begin[0] - at[0]).abs(), (begin[1] - at[1]).abs()];
                to_there(&mut text, &mut at, begin, "G0");
                let _ = writeln!(text, "G1 Z0");
                // The rapid rate applies to each axis, so the longer of the two decides on a straight line.
                let length = d[0].hypot(d[1]);
                let speed = RAPID / (d[0].max(d[1]) / length);
                seconds += 5.0 / RAPID + length / speed + 5.0 / FEED * 60.0;
            } else {
                cuts.push([at, begin]);
                seconds += to_there(&mut text, &mut at, begin, "G1") / FEED * 60.0;
            }
        }
        let end = place(to, across(n));
        cuts.push([at, end]);
        seconds += to_there(&mut text, &mut at, end, "G1") / FEED * 60.0;
    }
    let _ = write!(text, "G0 Z50\nM9\nM5\nM30\n");
    seconds += 50.0 / RAPID;
    Made {
        text,
        cuts,
        rows: usize::try_from(count).unwrap(),
        step: step as f64 / 100.0,
        seconds,
    }
}

/// The area that a disc sweeps along a straight line, as a polygon that circumscribes the round ends with `corners`
/// corners.
fn swept([a, b]: [[f64; 2]; 2], radius: f64, corners: u32) -> Polygon {
    let way = (b[1] - a[1]).atan2(b[0] - a[0]);
    let quarter = TAU / 4.0;
    let half = |centre: [f64; 2], from: f64| {
        (0..=corners).map(move |n| {
            let angle = from + TAU / 2.0 * f64::from(n) / f64::from(corners);
            (
                centre[0] + radius * angle.cos(),
                centre[1] + radius * angle.sin(),
            )
        })
    };
    let ring: Vec<(f64, f64)> = half(b, way - quarter)
        .chain(half(a, way + quarter))
        .collect();
    Polygon::new(LineString::from(ring), vec![])
}

fn left_over(made: &Made, radius: f64) -> f64 {
    let swept: Vec<Polygon> = made
        .cuts
        .iter()
        .map(|cut| swept(*cut, radius, 200))
        .collect();
    let cut: MultiPolygon = unary_union(&swept);
    let plate = MultiPolygon::from(Rect::new((0.0, 0.0), (200.0, 100.0)).to_polygon());
    plate.difference(&cut).unsigned_area()
}

#[test]
fn generated_programs_agree_with_the_reference() {
    let count: u64 = std::env::var("SKIMGATE_TEST_PROGRAMS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(200);
    let setup = setup();
    let machine = Dynamics {
        acceleration: [1e9; 3],
        rapid: [RAPID; 3],
        highest_feed: None,
        path: PathMode::Continuous(None),
        corner: 1.0,
        block_rate: None,
        tool_change: 0.0,
        spin_up: 0.0,
    };
    let mut wrong = Vec::new();
    for seed in 0..count {
        let made = made(seed);
        let study = study(&mut made.text.as_bytes(), &dialect(), &setup, Some(machine)).unwrap();
        let summary = &study.examination.summary;
        let mut differs = |what: &str, found: String, expected: String| {
            wrong.push(format!(
                "{seed}: {what} {found}, expected {expected}\n{}",
                made.text
            ));
        };
        let rows = summary.rows.map(|r| (r.count, r.step.unwrap_or_default()));
        if rows.is_none_or(|(n, step)| n != made.rows || (step - made.step).abs() > 1e-6) {
            differs(
                "rows",
                format!("{rows:?}"),
                format!("{} {}", made.rows, made.step),
            );
        }
        let ends = || made.cuts.iter().flatten();
        let sides = summary.extents.unwrap();
        for (axis, side) in sides.into_iter().take(2).enumerate() {
            let least = ends().map(|p| p[axis]).fold(f64::INFINITY, f64::min);
            let most = ends().map(|p| p[axis]).fold(f64::NEG_INFINITY, f64::max);
            if (side[0] - least).abs() > 1e-6 || (side[1] - most).abs() > 1e-6 {
                differs("extents", format!("{side:?}"), format!("{least} {most}"));
            }
        }
        // The first rapid starts at an unknown position, so it is in neither figure.
        let plain = study.time.unwrap().plain;
        if (plain - made.seconds).abs() > 1e-3 * made.seconds {
            differs("seconds", plain.to_string(), made.seconds.to_string());
        }
        let (left, expected) = (study.covered.unwrap().area(), left_over(&made, 19.6));
        if (left - expected).abs() > 0.002 * expected + 1.0 {
            differs("left over, mm2", left.to_string(), expected.to_string());
        }
    }
    let shown: Vec<_> = wrong.iter().take(3).collect();
    assert!(wrong.is_empty(), "{} differ: {shown:#?}", wrong.len());
}
