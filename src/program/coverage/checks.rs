//! Compares the coverage with areas computed by hand, and with outlines from a polygon library.

use super::rectangle::Side;
use super::tracker::CoverageTracker;
use super::{Coverage, CoverageTask, PlatePart};
use crate::scene::Rect as Frame;
use geo::algorithm::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::{Area, BooleanOps, LineString, MultiLineString, Rect, coord};
use proptest::prelude::{ProptestConfig, prop, proptest};
use std::f64::consts::PI;

fn plate(x: f64, y: f64) -> Frame {
    Frame::between([0.0, 0.0], [x, y])
}

/// The coverage of a path cut at Z 0, with each block on its own line.
fn cover(plate: Frame, flat: f64, path: &[[f64; 2]]) -> Coverage {
    let task = CoverageTask {
        plate,
        flat,
        depth: 0.005,
    };
    let mut cover = CoverageTracker::new(task).unwrap();
    for (line, pair) in (1..).zip(path.windows(2)) {
        let at = |p: [f64; 2]| [p[0], p[1], 0.0];
        cover.straight(at(pair[0]), at(pair[1]), 0.0, line);
    }
    cover.finish()
}

fn zigzag(rows: &[f64], ends: [f64; 2]) -> Vec<[f64; 2]> {
    let both = |(n, y): (usize, &f64)| {
        let [a, b] = if n % 2 == 0 { ends } else { [ends[1], ends[0]] };
        [[a, *y], [b, *y]]
    };
    rows.iter().enumerate().flat_map(both).collect()
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found}, not {wanted}");
}

// A stadium: 2 r l + pi r^2 (plane geometry), at any angle.
#[test]
fn one_cut_covers_a_stadium() {
    for (from, to) in [
        ([30.0, 40.0], [80.0, 40.0]),
        ([40.0, 20.0], [40.0, 70.0]),
        ([30.0, 30.0], [60.0, 70.0]),
        ([70.0, 25.0], [40.0, 65.0]),
    ] {
        let found = cover(plate(120.0, 90.0), 7.0, &[from, to]);
        let reached = 2.0 * 7.0 * 50.0 + PI * 49.0;
        // Within the error of the midpoint rule at round ends: 0.002 % of the plate.
        near(120.0 * 90.0 - found.area(), reached, 0.2);
    }
}

// A ring: pi (R + r)^2 - pi (R - r)^2 = 4 pi R r (plane geometry), cut as the chords of a full circle.
#[test]
fn a_full_circle_covers_a_ring() {
    let point = |n: u32| {
        let (sine, cosine) = (f64::from(n) * PI / 500.0).sin_cos();
        [50.0 + 20.0 * cosine, 50.0 + 20.0 * sine]
    };
    let path: Vec<[f64; 2]> = (0..=1000).map(point).collect();
    let found = cover(plate(100.0, 100.0), 5.0, &path);
    let reached = 4.0 * PI * 20.0 * 5.0;
    // The error is at most the tolerance of the chords along both edges, and the computed area is never larger than the
    // true one.
    let given_away = 10_000.0 - found.area() - reached;
    assert!(
        (-2.0 * PI * 40.0 * 0.006..=0.01).contains(&given_away),
        "{given_away}"
    );
}

#[test]
fn rows_that_touch_exactly_cover_everything() {
    let rows: Vec<f64> = (0..10).map(|n| 5.0 + 10.0 * f64::from(n)).collect();
    let found = cover(plate(240.0, 100.0), 5.0, &zigzag(&rows, [-6.0, 246.0]));
    assert_eq!((found.percent(), found.largest()), (0.0, None));
    assert_eq!(found.passes.count, 10);
    near(found.passes.widest().unwrap().wide, 10.0, 1e-9);
}

// By hand: a step of 12 with a flat of 10 leaves 2 x 100 between lines 3 and 5.
#[test]
fn a_step_too_wide_is_reported_with_its_position_and_its_lines() {
    let rows = [5.0, 15.0, 27.0, 37.0, 47.0, 55.0];
    let found = cover(plate(100.0, 60.0), 5.0, &zigzag(&rows, [-6.0, 106.0]));
    near(found.area(), 200.0, 0.01);
    let (patch, at) = found.largest().unwrap();
    near(patch.area, 200.0, 0.01);
    near(patch.frame.low[1], 20.0, 1e-6);
    near(patch.frame.high[1], 22.0, 1e-6);
    assert_eq!(at, PlatePart::Across(Side::LowX, Side::HighX));
    assert_eq!(found.missed.patches.len(), 1);
    let step = found.passes.step_at(&patch.frame).unwrap();
    assert_eq!(step.lines, [3, 5]);
    near(step.wide, 12.0, 1e-9);
}

// By hand: two fields of rows, with a cut along Y on each side of the seam between them. The seam of 0.02 x 50 is too
// thin for the columns, which are the lines across these passes.
#[test]
fn a_thin_gap_between_two_fields_of_rows_is_found() {
    let plate = plate(100.0, 50.0);
    let field = |ends| zigzag(&[5.0, 15.0, 25.0, 35.0, 45.0], ends);
    let mut path = field([-6.0, 40.0]);
    path.extend([[40.0, -6.0], [40.0, 56.0], [50.02, 56.0], [50.02, -6.0]]);
    path.extend(field([50.02, 106.0]));
    let found = cover(plate, 5.0, &path);
    assert!(found.passes.along_x);
    // The seam between the two cuts along Y, at 40 and 50.02: 0.02 x 50, unless a column happens to run inside it.
    near(found.by_rows, 1.0, 1e-3);
    near(found.area(), 1.0, 1e-3);
    assert_eq!(found.missed.patches.len(), 1);
}

#[test]
fn an_uncovered_edge_is_named() {
    let found = cover(
        plate(100.0, 50.0),
        5.0,
        &zigzag(&[5.0, 15.0, 25.0, 35.0], [-6.0, 106.0]),
    );
    near(found.percent(), 20.0, 1e-6);
    let (patch, at) = found.largest().unwrap();
    assert_eq!(at, PlatePart::Edge(Side::HighY));
    near(patch.frame.low[1], 40.0, 1e-6);
}

// 9 ridges of 0.02 mm along X, 300 mm long: 54 mm2, computed by hand. Rows at their pitch miss some; columns find them
// all.
#[test]
fn columns_find_thin_ridges_along_the_rows() {
    let rows: Vec<f64> = (0..10).map(|n| 10.0 + 20.02 * f64::from(n)).collect();
    let found = cover(plate(300.0, 200.0), 10.0, &zigzag(&rows, [-12.0, 312.0]));
    near(found.by_columns, 54.0, 1e-3);
    assert!((found.by_rows - 54.0).abs() > 5.0, "{}", found.by_rows);
    near(found.area(), 54.0, 1e-3);
    assert_eq!(found.missed.patches.len(), 9);
    // Turned by 90 degrees, rows and columns change roles.
    let path: Vec<[f64; 2]> = zigzag(&rows, [-12.0, 312.0])
        .iter()
        .map(|p| [p[1], p[0]])
        .collect();
    let turned = cover(plate(200.0, 300.0), 10.0, &path);
    near(turned.by_rows, 54.0, 1e-3);
}

/// Length, inside the plate, of the line through the point `through` in the direction `way`.
fn inside(plate: Frame, through: [f64; 2], way: [f64; 2]) -> f64 {
    let mut t = [f64::NEG_INFINITY, f64::INFINITY];
    for axis in 0..2 {
        let mut ends = [plate.low[axis], plate.high[axis]].map(|e| (e - through[axis]) / way[axis]);
        ends.sort_by(f64::total_cmp);
        t = [t[0].max(ends[0]), t[1].min(ends[1])];
    }
    (t[1] - t[0]).max(0.0)
}

// The same ridges at a slant of 30 degrees: 0.02 times the length of each inside the plate.
#[test]
fn rows_and_columns_both_find_thin_slanting_ridges() {
    let plate = plate(300.0, 200.0);
    let (sine, cosine) = (PI / 6.0).sin_cos();
    let turn = |p: [f64; 2]| {
        let (x, y) = (p[0], p[1]);
        [150.0 + x * cosine - y * sine, 100.0 + x * sine + y * cosine]
    };
    let rows: Vec<f64> = (0..20).map(|n| 20.02 * (f64::from(n) - 9.5)).collect();
    let path: Vec<[f64; 2]> = zigzag(&rows, [-300.0, 300.0])
        .into_iter()
        .map(turn)
        .collect();
    let lengths: Vec<f64> = (-9..=9)
        .map(|n| inside(plate, turn([0.0, 20.02 * f64::from(n)]), [cosine, sine]))
        .filter(|l| *l > 0.0)
        .collect();
    let wanted = 0.02 * lengths.iter().sum::<f64>();
    let found = cover(plate, 10.0, &path);
    near(found.by_rows, wanted, 0.02 * wanted);
    near(found.by_columns, wanted, 0.02 * wanted);
    assert_eq!(found.missed.patches.len(), lengths.len());
}

// By hand: a ramp from 1 mm above the plane to 1 mm below cuts the plane in the second half of its length.
#[test]
fn only_cuts_at_depth_cover() {
    let task = CoverageTask {
        plate: plate(100.0, 40.0),
        flat: 5.0,
        depth: 0.0,
    };
    let mut half = CoverageTracker::new(task).unwrap();
    half.straight([20.0, 20.0, 1.0], [80.0, 20.0, -1.0], 0.0, 1);
    let mut back = CoverageTracker::new(task).unwrap();
    back.straight([80.0, 20.0, -1.0], [20.0, 20.0, 1.0], 0.0, 1);
    for cover in [half, back] {
        near(4000.0 - cover.finish().area(), 300.0 + PI * 25.0, 0.05);
    }
    let mut above = CoverageTracker::new(task).unwrap();
    above.straight([20.0, 20.0, 1.0], [80.0, 20.0, 0.1], 0.0, 1);
    near(above.finish().percent(), 100.0, 1e-9);
}

#[test]
fn without_a_plate_or_a_flat_there_is_no_coverage() {
    let task = |x, flat| CoverageTask {
        plate: plate(x, 10.0),
        flat,
        depth: 0.0,
    };
    assert!(CoverageTracker::new(task(0.0, 5.0)).is_none());
    assert!(CoverageTracker::new(task(10.0, 0.0)).is_none());
    assert!(CoverageTracker::new(task(f64::NAN, 5.0)).is_none());
}

/// The uncovered area by a polygon library: the outline of each piece, their union, and the plate minus the union.
fn by_outlines(plate: Frame, flat: f64, path: &[[f64; 2]]) -> f64 {
    let line = LineString::from(path.iter().map(|p| (p[0], p[1])).collect::<Vec<_>>());
    let pieces = MultiLineString::new(
        line.lines()
            .map(|l| LineString::from(vec![l.start, l.end]))
            .collect(),
    );
    let style = BufferStyle::new(flat)
        .line_cap(LineCap::Round(0.02))
        .line_join(LineJoin::Round(0.02));
    let whole = Rect::new(
        coord! { x: plate.low[0], y: plate.low[1] },
        coord! { x: plate.high[0], y: plate.high[1] },
    );
    whole
        .to_polygon()
        .difference(&pieces.buffer_with_style(style))
        .unsigned_area()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    // Independent check: outlines from a polygon library, whose round ends are cut into straight pieces of 0.02 rad.
    #[test]
    fn any_path_leaves_what_outlines_leave(
        points in prop::collection::vec([-5.0_f64..85.0, -5.0_f64..65.0], 2..14),
        flat in 1.0_f64..9.0,
    ) {
        let plate = plate(80.0, 60.0);
        let found = cover(plate, flat, &points);
        let wanted = by_outlines(plate, flat, &points);
        let within = 0.001 * plate.area();
        near(found.by_rows, wanted, within);
        near(found.by_columns, wanted, within);
    }
}

// Independent check as above: wavy passes cut into small blocks, so that the chords that replace them are tested too.
#[test]
fn wavy_passes_leave_the_area_of_the_outlines_and_never_less() {
    let plate = plate(80.0, 60.0);
    let wave = |row: i32| {
        (0..=200).map(move |n| {
            let x = if row % 2 == 0 { n } else { 200 - n };
            let x = f64::from(x) * 0.5 - 10.0;
            [x, f64::from(row) * 10.5 + 1.0 + 0.8 * (x * 0.2).sin()]
        })
    };
    let path: Vec<[f64; 2]> = (0..6).flat_map(wave).collect();
    let found = cover(plate, 5.0, &path);
    let wanted = by_outlines(plate, 5.0, &path);
    near(found.area(), wanted, 0.001 * plate.area());
    // The straight pieces of the outlines themselves leave slightly too much.
    assert!(found.area() > wanted - 0.3, "{} {wanted}", found.area());
}
