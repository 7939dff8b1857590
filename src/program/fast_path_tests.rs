//! Compares the fast path with the ordinary one: the same motions from the control, the same results from the watchers.

use super::coverage::{CoverWatch, CoverageTask};
use super::dialect::{Dialect, NoPoint};
use super::examine::Examiner;
use super::fault::Fault;
use super::motion::{FileLocation, Motion, Straight};
use super::observer::Observer;
use super::picture::PathRecorder;
use super::program_event::ProgramEvent;
use super::setting::PathMode;
use super::setup::{Mill, Plate, Setup};
use super::testing::{CUTTER, MILL, followed};
use super::time::{Dynamics, TimeWatch};
use crate::scene::Rect;
use proptest::prelude::{Just, Strategy, prop, prop_oneof, proptest};
use std::fmt::Debug;

/// Passes each straight cut on as an ordinary motion.
struct LongWayOnly<O>(O);

impl<O: Observer> Observer for LongWayOnly<O> {
    fn motion(&mut self, motion: &Motion<'_>) {
        self.0.motion(motion);
    }

    fn event(&mut self, event: &ProgramEvent<'_>) {
        self.0.event(event);
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        self.0.fault(fault, at);
    }
}

/// Every motion as text, and the number of motions from the fast path.
#[derive(Default)]
struct MotionLog {
    motions: Vec<String>,
    straight: usize,
}

impl Observer for MotionLog {
    fn motion(&mut self, motion: &Motion<'_>) {
        let Motion {
            kind,
            from,
            to,
            arc,
            feed,
            setting,
            at,
        } = motion;
        self.motions.push(format!(
            "{}: {kind:?} {from:?} {to:?} {arc:?} {feed:?} {setting:?}",
            at.line
        ));
    }

    fn straight(&mut self, cut: &Straight<'_>) {
        self.straight += 1;
        self.motion(&cut.motion());
    }
}

fn motions_of(text: &str, dialect: &Dialect) -> MotionLog {
    followed(text, dialect, MotionLog::default()).1
}

type Watchers = (Examiner, (CoverWatch, (TimeWatch, PathRecorder)));

/// Invented figures.
fn watchers() -> Watchers {
    let setup = Setup {
        plate: Some(Plate {
            size: [60.0, 40.0],
            corner: Some([0.0, 0.0]),
        }),
        cutter: Some(CUTTER),
        mill: Some(Mill {
            travel: Some([50.0, 30.0]),
            lowest_z: Some(-100.0),
            ..MILL
        }),
        lowest_z: Some(0.0),
        stock_top: Some(0.3),
        zero: Some([10.0, 10.0, -50.0]),
        ..Setup::default()
    };
    let plate = Rect::between([0.0, 0.0], [60.0, 40.0]);
    let task = CoverageTask {
        plate,
        flat: 5.8,
        depth: 0.005,
    };
    let machine = Dynamics {
        acceleration: [600.0, 500.0, 400.0],
        rapid: [100.0, 100.0, 60.0],
        highest_feed: Some(50.0),
        path: PathMode::Continuous(None),
        corner: 0.02,
        block_rate: Some(200.0),
        tool_change: 15.0,
        spin_up: 3.0,
    };
    (
        Examiner::new(&setup),
        (
            CoverWatch::new(task).unwrap(),
            (TimeWatch::new(machine).unwrap(), PathRecorder::over(&plate)),
        ),
    )
}

fn results<O: Observer>(text: &str, observer: O, parts: fn(O) -> Watchers) -> impl Debug {
    let (followed, observer) = followed(text, &Dialect::default(), observer);
    let (mut examiner, (cover, (time, path))) = parts(observer);
    examiner.finish(&followed, None);
    (
        examiner.verdict(),
        examiner.summary(&followed),
        examiner.found().sorted(),
        examiner.found().codes(),
        (cover.finish(), time.finish(), path.finish()),
    )
}

/// Blocks between stretches of plain blocks.
const BETWEEN: [&str; 34] = [
    "G91",
    "G90",
    "G20",
    "G21",
    "F300.",
    "F5",
    "F-1",
    "G92 X3.",
    "G92.1",
    "G0 Z5.",
    "G1 Z0.",
    "G1 Z-0.2",
    "S3000",
    "M5",
    "M3",
    "G55",
    "G54",
    "G93",
    "G94",
    "G2 X50. Y50. I10. J0.",
    "G3 X60. Y60. R30.",
    "G0 X10. Y10.",
    "X#7",
    "M6",
    "G43 H2",
    "G61.1",
    "G64 P0.1",
    "G41",
    "G40",
    "G28 Z0.",
    "M777",
    "X1. X2.",
    "G80",
    "X5 Y6",
];

fn stretch() -> impl Strategy<Value = String> {
    let line = (0_u8..6, -20_i32..80, -20_i32..60, 0_usize..4).prop_map(|(kind, x, y, digits)| {
        let (x, y) = (f64::from(x) * 1.25, f64::from(y) * 1.25);
        match kind {
            0 => format!("X{x:.digits$}\n"),
            1 => format!("Y{y:.digits$}\n"),
            2 => format!("X{x:.2} Y{y:.2} Z0.\n"),
            3 => format!("X{x:.2} Z0.1\n"),
            _ => format!("X{x:.digits$} Y{y:.digits$}\n"),
        }
    });
    // Rows of short steps in one direction, as in a raster, some of them bent or reversed.
    let row = (0_i32..40, 1_i32..40, -3_i32..4, 0_u8..4).prop_map(|(at, count, bend, kind)| {
        (0..count)
            .map(|n| {
                let along = f64::from(n) * 0.75 - 4.0;
                let across = f64::from(at) + f64::from(bend * n) * 0.0004;
                match kind {
                    0 => format!("X{along:.3} Y{at}.\n"),
                    1 => format!("X{at}. Y{along:.3}\n"),
                    2 => format!("X{along:.3} Y{across:.4}\n"),
                    _ => format!("X{:.3} Y{across:.4}\n", -along),
                }
            })
            .collect::<String>()
    });
    let between = (0..BETWEEN.len()).prop_map(|n| format!("{}\n", BETWEEN[n]));
    prop_oneof![
        3 => row,
        2 => prop::collection::vec(line, 1..20).prop_map(|l| l.concat()),
        2 => between,
        1 => Just("G1 Z0. F600.\n".to_owned()),
    ]
}

const START: &str =
    "G21 G17 G90 G94 G54\nT1 M6\nS4000 M3 M8\nG0 Z30.\nG0 X-20. Y-20.\nG0 Z5.\nG1 Z0. F250.\n";

proptest! {
    // An assignment that nothing reads keeps a block off the fast path and changes nothing else.
    #[test]
    fn the_lane_makes_the_same_motions(parts in prop::collection::vec(stretch(), 1..12)) {
        let text = format!("{START}{}M30\n", parts.concat());
        let long = text.replace('\n', " #1=0\n");
        for no_point in [NoPoint::Units, NoPoint::Increments, NoPoint::Forbid] {
            let dialect = Dialect { no_point, ..Dialect::default() };
            let (fast, slow) = (motions_of(&text, &dialect), motions_of(&long, &dialect));
            assert_eq!(slow.straight, 0);
            assert_eq!(fast.motions, slow.motions);
        }
    }

    #[test]
    fn watchers_get_the_same_results_on_both_paths(parts in prop::collection::vec(stretch(), 1..12)) {
        let text = format!("{START}{}G0 Z30.\nM30\n", parts.concat());
        let fast = results(&text, watchers(), |w| w);
        let slow = results(&text, LongWayOnly(watchers()), |LongWayOnly(w)| w);
        // The findings, totals and positions of both, to the last bit as they are written out.
        assert_eq!(format!("{fast:?}"), format!("{slow:?}"));
    }
}

#[test]
fn plain_blocks_take_the_fast_path() {
    let text = format!("{START}X1. Y2.\nX3.\nY4. Z0.\nG91\nX1.\nG90\nX0.\nM30\n");
    // All except the incremental block, which leaves the fast path.
    assert_eq!(motions_of(&text, &Dialect::default()).straight, 4);
}
