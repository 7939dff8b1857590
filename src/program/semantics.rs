//! Tests what programs do against the published rules of RS-274 (NISTIR 6556; each case names its section).
#![allow(clippy::float_cmp)]

use super::dialect::{Dialect, PanelSwitches};
use super::fault::{Fault, FaultKind};
use super::follow::{Followed, follow};
use super::motion::{FileLocation, Motion, MotionKind};
use super::observer::Observer;

/// Stores the end, kind and feed of every motion, and every fault.
#[derive(Default)]
struct Keeps {
    ends: Vec<[f64; 3]>,
    kinds: Vec<MotionKind>,
    feeds: Vec<Option<f64>>,
    arcs: Vec<(f64, f64)>,
    faults: Vec<FaultKind>,
}

impl Observer for Keeps {
    fn motion(&mut self, motion: &Motion<'_>) {
        self.ends
            .push(motion.to.map(|c| c.known().unwrap_or(f64::NAN)));
        self.kinds.push(motion.kind);
        self.feeds.push(motion.feed.known());
        if let Some(arc) = motion.arc {
            self.arcs.push((arc.radius, arc.sweep.to_degrees()));
        }
    }

    fn fault(&mut self, fault: &Fault, _at: FileLocation<'_>) {
        self.faults.push(fault.kind);
    }
}

fn run(text: &str) -> (Keeps, Followed) {
    let mut keeps = Keeps::default();
    let followed = follow(
        &mut text.as_bytes(),
        &Dialect::default(),
        PanelSwitches::default(),
        &mut keeps,
    );
    (keeps, followed.unwrap())
}

fn near(a: [f64; 3], b: [f64; 3]) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9)
}

const START: &str = "G21 G90 G17 G94\nG0 X0 Y0 Z10\n";

fn ends(text: &str) -> Vec<[f64; 3]> {
    let (keeps, _) = run(&format!("{START}{text}"));
    assert_eq!(keeps.faults, [], "{text}");
    keeps.ends[1..].to_vec()
}

#[test]
fn absolute_and_incremental() {
    // 3.5.17
    assert_eq!(
        ends("G1 X1 Y2 F60\nG91 X1\nZ-3\nG90 X0\n"),
        [
            [1.0, 2.0, 10.0],
            [2.0, 2.0, 10.0],
            [2.0, 2.0, 7.0],
            [0.0, 2.0, 7.0]
        ]
    );
}

#[test]
fn inches() {
    // 3.5.7
    assert_eq!(ends("G20\nG1 X1 F10\n"), [[25.4, 0.0, 10.0]]);
}

#[test]
fn feed_is_taken_before_the_units_of_its_block() {
    // 3.8, table 8: F comes before G20.
    let (keeps, _) = run(&format!("{START}G20 G1 X1 F60\nX2 F60\n"));
    assert_eq!(keeps.feeds[1..], [Some(60.0), Some(1524.0)]);
}

#[test]
fn arcs_by_centre_and_by_radius() {
    // 3.5.3.2: a quarter from (0,0) to (5,5) about (5,0), clockwise; 3.5.3.1: the same by radius.
    for text in ["G2 X5 Y5 I5 F60\n", "G2 X5 Y5 R5 F60\n"] {
        let (keeps, _) = run(&format!("{START}{text}"));
        let (radius, sweep) = keeps.arcs[0];
        assert!(
            (radius - 5.0).abs() < 1e-9 && (sweep + 90.0).abs() < 1e-9,
            "{text}: {sweep}"
        );
    }
    // 3.5.3.1: a negative radius takes the longer of the two arcs.
    let (keeps, _) = run(&format!("{START}G2 X5 Y5 R-5 F60\n"));
    assert!((keeps.arcs[0].1 + 270.0).abs() < 1e-9);
    // 3.5.3.2: equal end points are a full circle.
    let (keeps, _) = run(&format!("{START}G3 X0 I5 F60\n"));
    assert!((keeps.arcs[0].1 - 360.0).abs() < 1e-9);
}

#[test]
fn arcs_in_error() {
    // 3.5.3.1: equal end points by radius; 3.5.3.2: more than 0.002 mm, nothing in the plane, no offset.
    for (text, kind) in [
        ("G2 X0 Y0 R5 F60\n", FaultKind::ArcRadius),
        ("G2 X5.0 Y5.0 I5.005 J0 F60\n", FaultKind::ArcMismatch),
        ("G2 Z5 I5 F60\n", FaultKind::MissingWord),
        ("G2 X5 Y5 F60\n", FaultKind::MissingWord),
    ] {
        let (keeps, _) = run(&format!("{START}{text}"));
        assert!(keeps.faults.contains(&kind), "{text}: {:?}", keeps.faults);
    }
}

#[test]
fn home_goes_through_the_programmed_point() {
    // 3.5.8
    let (keeps, _) = run(&format!("{START}G28 Z0\n"));
    assert!(near(keeps.ends[1], [0.0; 3]));
    assert!(keeps.ends[2][2].is_nan() && keeps.kinds[2] == MotionKind::Rapid);
}

#[test]
fn a_shift_changes_the_coordinates_and_not_the_cutter() {
    // 3.5.18: G92 gives X0 the number X7, so X8 is 1 further.
    assert_eq!(
        ends("G92 X7\nG1 X8 F60\nG92.1\nX8\n"),
        [[1.0, 0.0, 10.0], [8.0, 0.0, 10.0]]
    );
}

#[test]
fn only_one_code_may_use_the_axis_words_of_a_block() {
    // 3.4
    let (keeps, _) = run(&format!("{START}G1 G92 X7\n"));
    assert_eq!(keeps.faults, [FaultKind::AxisWordsTwice]);
}

#[test]
fn inverse_time_needs_its_feed_on_every_line() {
    // 3.5.19: F2 is half a minute for the move, so 10 mm at 20 mm/min.
    let (keeps, _) = run(&format!("{START}G93 G1 X10 F2\nX20\n"));
    assert_eq!(keeps.feeds[1..], [Some(20.0), None]);
}

#[test]
fn a_drilling_cycle_as_motions() {
    // 3.5.16.2 and its example in 3.5.16: G90 G81 G98 X4 Y5 Z1.5 R2.8 from (1,2,3): rapid to (4,5,3), to Z2.8, feed to
    // Z1.5, rapid to Z3.
    let (keeps, _) = run("G21 G90 G17 G94 F60\nG0 X1 Y2 Z3\nG81 G98 X4 Y5 Z1.5 R2.8\n");
    let expected = [
        [4.0, 5.0, 3.0],
        [4.0, 5.0, 2.8],
        [4.0, 5.0, 1.5],
        [4.0, 5.0, 3.0],
    ];
    assert!(
        keeps.ends[1..]
            .iter()
            .zip(expected)
            .all(|(a, b)| near(*a, b)),
        "{:?}",
        keeps.ends
    );
    // The second example there: G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 from (1,2,3): Z first to 4.8, holes at (5,7), (9,12),
    // (13,17), each to Z4.2 and back to 4.8.
    let (keeps, _) = run("G21 G90 G17 G94 F60\nG0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\n");
    let bottoms: Vec<[f64; 3]> = keeps
        .ends
        .iter()
        .zip(&keeps.kinds)
        .filter(|(_, k)| **k == MotionKind::Feed)
        .map(|(e, _)| *e)
        .collect();
    let expected = [[5.0, 7.0, 4.2], [9.0, 12.0, 4.2], [13.0, 17.0, 4.2]];
    assert!(
        bottoms.iter().zip(expected).all(|(a, b)| near(*a, b)),
        "{bottoms:?}"
    );
    assert_eq!(bottoms.len(), 3);
    assert!(near(*keeps.ends.last().unwrap(), [13.0, 17.0, 4.8]));
}

#[test]
fn parameters_take_effect_after_their_line() {
    // 3.3.3: #3=15 is set after the whole line is read.
    assert_eq!(
        ends("#3=6\nG1 X#3 F60 #3=15\nX#3\nX[#3+1]\n"),
        [[6.0, 0.0, 10.0], [15.0, 0.0, 10.0], [16.0, 0.0, 10.0]]
    );
}

#[test]
fn nothing_is_carried_out_after_the_end() {
    // 3.1
    let (keeps, followed) = run(&format!("{START}M2\nG1 X99 F60\n"));
    assert!(followed.ended && keeps.ends.len() == 1);
    assert_eq!(keeps.faults, [FaultKind::AfterEnd]);
}

/// Calls are not part of RS-274; common practice, no source.
#[test]
fn a_subprogram_runs_as_often_as_it_is_called() {
    let text = "G1 F60\nM98 P100 L2\nX9\nM30\nO100\nG91 X1\nG90\nM99\n";
    assert_eq!(
        ends(text),
        [[1.0, 0.0, 10.0], [2.0, 0.0, 10.0], [9.0, 0.0, 10.0]]
    );
    let (keeps, _) = run(&format!("{START}M98 P100\nO100\nM98 P100\nM99\nM30\n"));
    assert!(
        keeps.faults.contains(&FaultKind::TooMuch),
        "{:?}",
        keeps.faults
    );
}

#[test]
fn what_an_unknown_code_may_have_changed_stays_unknown_until_it_is_set_again() {
    let after = |rest: &str| {
        let (keeps, _) = run(&format!("{START}{rest}"));
        (keeps.faults.clone(), keeps.ends.last().copied().unwrap())
    };
    let (faults, end) = after("M777\nG21 G90 G54\nG1 X1 Y1 Z1 F60\n");
    assert_eq!((faults, end), (vec![FaultKind::UnknownM], [1.0, 1.0, 1.0]));
    for lost in [
        "M777\nX1 Y1 Z1 F60\n",
        "M777\nG21 G90\nG91 X1 Y1 Z1 F60\n",
        "G777\nG21 G90 G54\nG1 X1 Y1 Z1 F60\n",
    ] {
        let (_, end) = after(lost);
        assert!(end.iter().all(|c| c.is_nan()), "{lost}: {end:?}");
    }
    // A block with faulty text changes no mode.
    let (_, end) = after("G1 X--5 F60\nX1 Y1 Z1\n");
    assert_eq!(end, [1.0, 1.0, 1.0]);
    let (_, end) = after("G68 R10\nX1 Y1 Z1\nG69\nG21 G90 G54\nG1 X2 Y2 Z2 F60\n");
    assert_eq!(end, [2.0, 2.0, 2.0]);
}

/// NISTIR 6556 has G0 and G80 in one modal group; controls with the cycles in a group of their own accept both (from
/// memory).
#[test]
fn lines_that_only_reset_modes_are_accepted() {
    for safe in [
        "G0 G17 G40 G49 G80 G90",
        "G80 G0",
        "G00 G21 G17 G90 G40 G49 G80",
        "G0 G28 G91 Z0",
    ] {
        let (keeps, _) = run(&format!("{START}{safe}\nG90 G0 X1 Y2 Z3\n"));
        assert_eq!(keeps.faults, [], "{safe}");
        assert_eq!(
            keeps.ends.last().copied().unwrap(),
            [1.0, 2.0, 3.0],
            "{safe}"
        );
    }
    for wrong in [
        "G0 G1 X1",
        "G90 G91",
        "G17 G18",
        "G80 G81 X1 Z1 R2",
        "G1 G28 X1",
    ] {
        let (keeps, _) = run(&format!("{START}F60\n{wrong}\n"));
        assert!(!keeps.faults.is_empty(), "{wrong}");
    }
}

/// ISO 6983 (from memory): a dwell counts P or X; and a circle with I and J needs no end point.
#[test]
fn a_dwell_by_x_moves_nothing_and_a_circle_needs_no_end() {
    assert_eq!(ends("G4 X2\nG1 Y1 F60\n"), [[0.0, 1.0, 10.0]]);
    let (keeps, _) = run(&format!("{START}G17 F60\nG3 I5 J0\nG1 X1\n"));
    assert_eq!(keeps.faults, []);
    assert_eq!(keeps.ends.last().copied().unwrap(), [1.0, 0.0, 10.0]);
}

#[test]
fn incremental_steps_end_at_the_same_position_as_absolute_ones() {
    let steps = "G91\nG1 F60\n".to_owned() + &"Y0.1\n".repeat(10);
    let last = |text: &str| {
        run(&format!("{START}{text}"))
            .0
            .ends
            .last()
            .copied()
            .unwrap()
    };
    let summed = last(&steps);
    assert_eq!(summed[1].to_bits(), 1.0_f64.to_bits());
    let worked = last("G1 Y[0.1+0.2] F60\n");
    assert_eq!(worked[1].to_bits(), 0.3_f64.to_bits());
}

/// Any bytes are followed to the end without a panic.
#[test]
fn following_any_bytes_ends() {
    let mut seed = 7_u64;
    let mut next = || {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize
    };
    let words = [
        "G0",
        "G1",
        "G2",
        "G3",
        "G28",
        "G53",
        "G81",
        "G83",
        "G90",
        "G91",
        "G92",
        "G20",
        "G21",
        "X1",
        "Y-2",
        "Z.5",
        "I3",
        "J0",
        "R1",
        "Q.1",
        "F9",
        "M98P1",
        "M99",
        "O1",
        "\n",
        "\n",
        "\r\n",
        "%",
        "/",
        "(",
        ")",
        "#1=2",
        "X#1",
        "L3",
        "M6",
        "T2",
        "S0",
        "G43",
        "H1",
        "G93",
        "G18",
        "\u{0}",
        "9999999999",
        "G10",
        "M30",
    ];
    for _ in 0..3_000 {
        let text: String = (0..next() % 60)
            .map(|_| words[next() % words.len()])
            .collect();
        run(&text);
    }
}
