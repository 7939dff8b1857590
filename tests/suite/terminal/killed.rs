//! Walks at a terminal, killed at random moments: what was answered and shown as taken is there, no release outlives the
//! kill, and the run goes on from the question it had come to.

use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing, told, values};
use crate::workshop::{Seeded, events, whole};
use skimgate::interlock::Event;
use std::thread::sleep;
use std::time::Duration;

const KILLS: usize = 24;

/// What is typed from the first step to the hold point, one prompt after the other.
const TYPED: [(&str, &str); 17] = [
    ("choose", "c12"),
    ("choose", "bed-a"),
    ("confirm", "worn"),
    ("confirm", "homed"),
    ("value in rpm", "3000"),
    ("time in min", "2 s"),
    ("file", "face-12.nc"),
    ("P1 in mm", "0"),
    ("P2 in mm", "-0.12"),
    ("shows now, mm", "0"),
    ("P3 in mm", "0.31"),
    ("P4 in mm", "0.08"),
    ("P5 in mm", "-0.05"),
    ("shows now, mm", "0"),
    ("value in mm", "0"),
    ("value in mm", "0"),
    ("shows now, mm", "-0.18"),
];

/// How many of `TYPED` are recorded.
fn recorded(bench: &Bench) -> usize {
    // Answers that nobody types: worked out, or the end of the series of touches.
    let unasked = ["corners", "found", "plane", "over_steel"];
    let counts = |event: &&Event| match event {
        Event::Answered { at, .. } => !unasked.contains(&at.step.as_str()),
        Event::Touched { .. } | Event::Zeroed { .. } => true,
        _ => false,
    };
    events(&whole(&bench.book())).iter().filter(counts).count()
}

fn dies(mut at: Operator, random: &mut Seeded) {
    sleep(Duration::from_micros(random.below(30_000) as u64));
    at.is_cut_off();
}

#[test]
fn killed_while_somebody_types_a_run_goes_on_where_it_was() {
    let mut random = Seeded(20_260_417);
    for _ in 0..KILLS {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.goes(&[("initials", "ab"), ("machine", "north")]);
        let typed = random.below(TYPED.len() + 1);
        at.goes(&TYPED[..typed]);
        if typed == 0 {
            at.sees("choose> ");
        }
        dies(at, &mut random);
        let there = recorded(&bench);
        assert!(
            there == typed || there + 1 == typed,
            "{typed} were typed, {there} are recorded"
        );
        // From the first touch on there is a height that the machine could have lost meanwhile.
        let first = TYPED.iter().position(|(prompt, _)| *prompt == "P1 in mm");
        let (mut at, shown) = if first.is_some_and(|first| there > first) {
            super::takes_up_homed(&bench)
        } else {
            super::takes_up(&bench)
        };
        assert!(shown.contains("without a word"), "{shown}");
        at.goes(&TYPED[there..]);
        at.signs();
        at.sees("started> ");
        assert_eq!(values(&bench.shown(), "plane"), [0.01]);
    }
}

/// A terminal that has just claimed a run, and asks who is there, has no release: not that of the one before either.
#[test]
fn a_release_is_gone_before_anybody_says_who_they_are() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    bench.run(&["gate"]).ended(0);
    at.is_cut_off();
    let mut at = Sitting::at(&bench).walks();
    at.sees("initials> ");
    bench
        .run(&["gate"])
        .ended(3)
        .tells(&["Hold point: no longer holds: the terminal that had the release is gone"]);
}

/// Killed between release and start, or while it cuts: the release is spent or gone, and the next start needs its own.
#[test]
fn killed_around_the_start_no_release_is_left() {
    let mut random = Seeded(20_260_418);
    for started in [false, true, false, true] {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench).walks();
        at.reaches_the_hold_point();
        at.signs();
        if started {
            at.starts("roughing pass 1");
        } else {
            at.sees("started> ");
        }
        dies(at, &mut random);
        let why = if started {
            "a cut is under way"
        } else {
            "no terminal has the run open"
        };
        bench.run(&["gate"]).ended(3).tells(&[why]);
        let (mut at, _) = super::takes_up_homed(&bench);
        if started {
            at.answers("how it ended", "finished");
        } else {
            at.signs();
            let shown = flowing(&plain(&at.sees("started> ")));
            assert!(shown.contains("RELEASED"), "{shown}");
            at.types("started");
            at.sees("Cutting. Press Enter");
        }
        let shown = bench.shown();
        assert_eq!(told(&shown, "cut_started").len(), 1);
        assert_eq!(told(&shown, "released").len(), if started { 1 } else { 2 });
    }
}

/// Killed between typing `started` and the end of its write, 20 times from 0 to 30 ms after the key. Whether the start is on
/// record or not: the book is whole, nothing is released, and the run goes on from there to one start in all.
#[test]
fn killed_while_a_start_is_written_the_run_has_it_or_not() {
    const STARTS: u32 = 20;
    let ready = Bench::new();
    let mut at = Sitting::at(&ready).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "leave");
    at.ends(130);
    let mut recorded = 0;
    for kill in 0..STARTS {
        let bench = ready.copied();
        let (mut at, _) = super::takes_up_homed(&bench);
        at.signs();
        at.sees("started> ");
        at.presses("started\r");
        sleep(Duration::from_millis(30) * kill / (STARTS - 1));
        at.is_cut_off();
        let starts = |e: &&Event| matches!(e, Event::CutStarted { .. });
        let started = match events(&whole(&bench.book())).iter().filter(starts).count() {
            0 => false,
            1 => true,
            more => panic!("{more} starts after {kill}"),
        };
        recorded += u32::from(started);
        let why = if started {
            "a cut is under way"
        } else {
            "no terminal has the run open"
        };
        bench.run(&["gate"]).ended(3).tells(&["HELD", why]);
        let (mut at, shown) = super::takes_up_homed(&bench);
        assert!(shown.contains("without a word"), "{shown}");
        if started {
            at.is_shown(&["A cut is under way"], "how it ended");
        } else {
            at.signs();
            at.starts("roughing pass 1");
            at.presses("\r");
            at.sees("how it ended> ");
        }
        at.types("finished");
        at.is_shown(&["Recorded: the cut ran to its end"], "inspect");
        let shown = bench.shown();
        assert_eq!(told(&shown, "cut_started").len(), 1);
        let releases = if started { 1 } else { 2 };
        assert_eq!(told(&shown, "released").len(), releases);
        bench.run(&["record", "verify"]).ended(0);
    }
    println!("{recorded} of {STARTS} starts were on record");
}
