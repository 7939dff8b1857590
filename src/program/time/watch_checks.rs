//! Tests of the time of whole programs against kinematics.

use crate::program::dialect::Dialect;
use crate::program::setting::PathMode;
use crate::program::testing::followed;
use crate::program::time::{Dynamics, Estimate, TimeWatch};

/// An invented machine.
const MACHINE: Dynamics = Dynamics {
    acceleration: [500.0, 500.0, 250.0],
    rapid: [100.0, 100.0, 50.0],
    highest_feed: Some(50.0),
    path: PathMode::Continuous(None),
    corner: 0.02,
    block_rate: None,
    tool_change: 10.0,
    spin_up: 3.0,
};

fn time(machine: Dynamics, program: &str) -> Estimate {
    let watch = TimeWatch::new(machine).unwrap();
    followed(program, &Dialect::default(), watch).1.finish()
}

fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-6, "{found}, not {wanted}");
}

const START: &str = "G21 G17 G90 G94 G54\nG0 X0 Y0 Z0\n";

// Kinematics: each move starts and ends at rest, l/v + v/a. 1200 mm/min is 20 mm/s.
#[test]
fn a_cut_after_a_rapid_starts_from_a_stop() {
    let found = time(MACHINE, &format!("{START}G0 X100\nG1 X200 F1200\nM30\n"));
    near(found.likely, (1.0 + 0.2) + (5.0 + 0.04));
    near(found.plain, 1.0 + 5.0);
    near(found.least, (1.0 + 0.1) + (5.0 + 0.02));
    near(found.most, (1.0 + 0.4) + (5.0 + 0.08));
    near(found.cutting, 100.0);
    // The first rapid starts at an unknown position.
    assert_eq!(found.untimed, Some((1, 2)));
}

// By hand: two spindle starts of 3 s (the change stops the spindle), a change of 10 s, a dwell of 2.5 s.
#[test]
fn waits_are_counted_once_each() {
    let program = format!("{START}M3 S1000\nS1500\nG4 P2.5\nT2 M6\nM3\nM3\nM0\nM30\nG4 P99\n");
    let found = time(MACHINE, &program);
    near(found.waits, 3.0 + 2.5 + 10.0 + 3.0);
    assert_eq!(found.stops, 1);
}

// Kinematics: on a half circle of radius 10 the speed is at most sqrt(a r); the machine does not exceed its highest
// feed.
#[test]
fn arcs_and_the_highest_feed_bound_the_speed() {
    let found = time(
        MACHINE,
        &format!("{START}G1 X50 F6000\nG4 P0\nG3 X70 Y0 I10 J0\nM30\n"),
    );
    let line = 50.0 / 50.0 + 50.0 / 500.0;
    let arc = 10.0 * std::f64::consts::PI / 50.0 + 50.0 / 500.0;
    near(found.likely, line + arc);
    let tight = time(MACHINE, &format!("{START}G1 F6000\nG3 X2 Y0 I1 J0\nM30\n"));
    let v = 500.0_f64.sqrt();
    near(tight.likely, (std::f64::consts::PI / v) + v / 500.0);
}

// By hand: Z alone has its own rate and acceleration; XY at 45 degrees is faster than one axis by the square root of 2.
#[test]
fn each_axis_keeps_its_own_limits() {
    let down = time(MACHINE, &format!("{START}G0 Z-100\nM30\n"));
    near(down.likely, 2.0 + 50.0 / 250.0);
    let slanting = time(MACHINE, &format!("{START}G0 X100 Y100\nM30\n"));
    near(slanting.likely, 1.0 + 100.0 / 500.0);
}

#[test]
fn the_program_changes_how_corners_are_run() {
    let legs = "G1 X50 F3000\nY50\nX0\nM30\n";
    let stopped = time(MACHINE, &format!("{START}G61.1\n{legs}"));
    near(stopped.likely, 3.0 * (50.0 / 50.0 + 50.0 / 500.0));
    let rounded = time(MACHINE, &format!("{START}G64 P0.5\n{legs}"));
    let exact = time(MACHINE, &format!("{START}G61\n{legs}"));
    assert!(rounded.likely < exact.likely && exact.likely < stopped.likely);
}

// By hand: 100 blocks at 50 blocks a second take 2 s, however fast the feed.
#[test]
fn a_slow_control_limits_short_blocks() {
    let blocks: Vec<String> = (1..=100)
        .map(|n| format!("X{:.2}", f64::from(n) * 0.1))
        .collect();
    let blocks = blocks.join("\n");
    let slow = Dynamics {
        block_rate: Some(50.0),
        acceleration: [1e6; 3],
        ..MACHINE
    };
    let found = time(slow, &format!("{START}G1 F3000\n{blocks}\nM30\n"));
    assert!((found.likely - 2.0).abs() < 1e-3, "{}", found.likely);
}
