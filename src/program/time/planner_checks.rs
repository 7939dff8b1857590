//! Tests of the planner against kinematics, and of its windows against a look-ahead over the whole path.

use super::planner::{PathPiece, Planner};
use proptest::prelude::{prop, proptest};

const X: [f64; 3] = [1.0, 0.0, 0.0];
const Y: [f64; 3] = [0.0, 1.0, 0.0];

fn piece(length: f64, way: [f64; 3], speed: f64, acceleration: f64) -> PathPiece {
    PathPiece {
        length,
        enter: way,
        leave: way,
        speed,
        acceleration,
        radius: None,
    }
}

fn time(deviation: Option<f64>, pieces: &[PathPiece]) -> [f64; 3] {
    let mut planner = Planner::new(deviation);
    for piece in pieces {
        planner.push(piece);
    }
    planner.finish()
}

fn near(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-9 * wanted.max(1.0),
        "{found}, not {wanted}"
    );
}

// Kinematics: a trapezoid takes l/v + v/a, a triangle 2 sqrt(l/a).
#[test]
fn one_line_is_a_trapezoid_or_a_triangle() {
    let [half, full, twice] = time(Some(0.01), &[piece(100.0, X, 100.0, 500.0)]);
    near(full, 1.2);
    near(half, 1.4);
    near(twice, 1.1);
    near(
        time(Some(0.01), &[piece(10.0, X, 100.0, 500.0)])[1],
        2.0 * (10.0_f64 / 500.0).sqrt(),
    );
}

// Kinematics and geometry: at a right angle v^2 = a d s / (1 - s), s = sin 45 degrees; each leg is a trapezoid from
// zero over v_max to v, or back.
#[test]
fn the_axes_round_a_right_angle_or_stop_at_it() {
    let legs = [piece(100.0, X, 50.0, 500.0), piece(100.0, Y, 50.0, 500.0)];
    let s = 0.5_f64.sqrt();
    let v = (500.0 * 0.05 * s / (1.0 - s)).sqrt();
    let ramps = 50.0 / 500.0 + (50.0 - v) / 500.0;
    let on_ramps = (2500.0 + 2500.0 - v * v) / 1000.0;
    near(
        time(Some(0.05), &legs)[1],
        2.0 * (ramps + (100.0 - on_ramps) / 50.0),
    );
    near(time(None, &legs)[1], 2.0 * (100.0 / 50.0 + 50.0 / 500.0));
    // A full reversal is a stop under any tolerance.
    let back = [legs[0], piece(100.0, [-1.0, 0.0, 0.0], 50.0, 500.0)];
    near(time(Some(0.05), &back)[1], time(None, &legs)[1]);
}

// Kinematics: on a circle the speed is at most sqrt(a r).
#[test]
fn a_bend_limits_the_speed() {
    let bent = PathPiece {
        radius: Some(2.0),
        ..piece(1000.0, X, 500.0, 200.0)
    };
    near(time(Some(0.01), &[bent])[1], 1000.0 / 20.0 + 20.0 / 200.0);
}

#[test]
fn a_line_in_many_blocks_takes_longer_only_with_a_stop_at_each() {
    let whole = time(Some(0.01), &[piece(150.0, X, 30.0, 300.0)]);
    let blocks = vec![piece(0.15, X, 30.0, 300.0); 1000];
    for (one, many) in whole.iter().zip(time(Some(0.01), &blocks)) {
        near(many, *one);
    }
    // Triangles: 2 sqrt(l/a) each.
    near(
        time(None, &blocks)[1],
        1000.0 * 2.0 * (0.15_f64 / 300.0).sqrt(),
    );
}

// Invented figures, stored to show what the time depends on: 0.15 mm blocks at 30 mm/s with a stop at each take 2.8
// times the plain time at 3000 mm/s2 and 15 times at 100.
#[test]
fn exact_stops_dominate_fine_blocks() {
    for (acceleration, times) in [(3000.0, 2.83), (100.0, 15.49)] {
        let blocks = vec![piece(0.15, X, 30.0, acceleration); 4000];
        let plain = 4000.0 * 0.15 / 30.0;
        let found = time(None, &blocks)[1] / plain;
        assert!((found - times).abs() < 0.01, "{found}");
    }
}

// Invented: a raster of long rows at 20 mm/s takes at most 4 % longer than length over feed, whatever the acceleration.
#[test]
fn long_rows_hardly_depend_on_the_acceleration() {
    for acceleration in [3000.0, 500.0, 100.0] {
        for deviation in [Some(0.05), None] {
            let row = |n: usize| {
                let way = if n.is_multiple_of(2) {
                    X
                } else {
                    [-1.0, 0.0, 0.0]
                };
                [
                    piece(300.0, way, 20.0, acceleration),
                    piece(0.4, Y, 20.0, acceleration),
                ]
            };
            let pieces: Vec<PathPiece> = (0..500).flat_map(row).collect();
            let plain: f64 = pieces.iter().map(|p| p.length / p.speed).sum();
            let more = time(deviation, &pieces)[1] / plain - 1.0;
            assert!((0.0..0.04).contains(&more), "{more}");
        }
    }
}

proptest! {
    // A short look-ahead gives the same result as a look-ahead over the whole path.
    #[test]
    fn a_short_look_ahead_gives_the_same_time(
        blocks in prop::collection::vec((0.5_f64..20.0, -0.6_f64..0.6, 5.0_f64..40.0), 1..200),
    ) {
        let mut heading = 0.0_f64;
        let mut short = Planner::with_window(40, Some(0.01));
        let mut long = Planner::with_window(1000, Some(0.01));
        for (length, turn, speed) in blocks {
            heading += turn;
            let p = piece(length, [heading.cos(), heading.sin(), 0.0], speed, 300.0);
            short.push(&p);
            long.push(&p);
        }
        for (s, l) in short.finish().iter().zip(long.finish()) {
            assert!((s - l).abs() < 1e-6 * l, "{s} {l}");
        }
    }
}
