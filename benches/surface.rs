//! What the touches say, measured: the minimum zone beside a general solver of linear programs on the same points in the
//! same run (scipy's linprog with HiGHS, in Python; CPU time both), and the map of a plate beside one screen refresh.
//!
//! `cargo bench --bench surface`; SKIMGATE_SCIPY names the Python that has scipy, else `python3` is tried.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use skimgate::plate::fit::{Site, zone};
use skimgate::plate::{HeightUncertainty, PlacedPoint, PlateFacts, TouchedPlate, UncertaintyKind};
use skimgate::quantity::Length;
use std::hint::black_box;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// One refresh of a screen at 60 Hz.
const REFRESH: Duration = Duration::from_millis(16);
/// CPU time that a measurement goes on for.
const ENOUGH: Duration = Duration::from_millis(500);

/// The Chebyshev plane as a linear program: least t with |z - a x - b y - c| <= t. Its width is 2 t.
const LINPROG: &str = "
import sys, time
import numpy as np
from scipy.optimize import linprog
p = np.loadtxt(sys.stdin, dtype=float)
x, y, z = p[:, 0], p[:, 1], p[:, 2]
x, y = (x - x.mean()) / (np.ptp(x) or 1), (y - y.mean()) / (np.ptp(y) or 1)
s = np.ptp(z) or 1
z = z / s
one = np.ones_like(x)
a = np.vstack([np.c_[-x, -y, -one, -one], np.c_[x, y, one, -one]])
b = np.r_[-z, z]
since = time.process_time()
r = linprog([0, 0, 0, 1], A_ub=a, b_ub=b, bounds=[(None, None)] * 3 + [(0, None)], method='highs')
print(time.process_time() - since, 2 * r.fun * s)
";

fn main() {
    println!("minimum zone beside linprog, CPU time (goal: 100 times faster at 10 000 points)");
    for count in [25, 1_000, 10_000, 100_000] {
        zone_of(count);
    }
    map();
}

/// CPU time of this thread; the clock on the wall where the system does not tell it.
fn spent(start: Instant) -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|t| t.split_whitespace().next()?.parse().ok());
    nanoseconds.map_or_else(|| start.elapsed(), Duration::from_nanos)
}

/// CPU time of one round: the system counts in ticks, so rounds go on until many have passed. The first warms up.
fn each(mut work: impl FnMut()) -> Duration {
    work();
    let start = Instant::now();
    let before = spent(start);
    let mut rounds = 0;
    loop {
        work();
        rounds += 1;
        let taken = spent(start).saturating_sub(before);
        if taken > ENOUGH {
            return taken / rounds;
        }
    }
}

/// Chance from one seed (SplitMix64), so that every run measures the same points.
struct Chance(u64);

impl Chance {
    fn below(&mut self, most: i64) -> i64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        i64::try_from((z ^ (z >> 31)) % u64::try_from(most).unwrap()).unwrap()
    }
}

/// An invented plate, tilted, dished and rough: micrometres.
fn sites(count: usize) -> Vec<Site> {
    let mut chance = Chance(1);
    let site = |_| {
        let (x, y) = (chance.below(400_000), chance.below(300_000));
        let (u, v) = (x - 200_000, y - 150_000);
        let dish = (u / 1000 * (u / 1000) + v / 1000 * (v / 1000)) / 1000;
        Site {
            x,
            y,
            z: x / 4000 - y / 7000 + dish + chance.below(12),
        }
    };
    (0..count).map(site).collect()
}

fn zone_of(count: usize) {
    let sites = sites(count);
    let width = zone::minimum(&sites).unwrap().width.to_f64();
    let own = each(|| {
        black_box(zone::minimum(black_box(&sites)).unwrap());
    });
    print!("  {count:>7} points {:>10.3} ms", own.as_secs_f64() * 1e3);
    match linprog(&sites) {
        None => {
            println!("   linprog left out: no scipy here, SKIMGATE_SCIPY names a Python with it");
        }
        Some((time, other)) => {
            assert!(
                (width - other).abs() < 1e-6 * width.max(1.0),
                "{width} here, {other} there"
            );
            let ratio = time / own.as_secs_f64();
            println!("   linprog {:>10.1} ms   {ratio:>8.0} times", time * 1e3);
        }
    }
}

/// Seconds of CPU and the width that linprog gives; the least of three.
fn linprog(sites: &[Site]) -> Option<(f64, f64)> {
    let python = std::env::var("SKIMGATE_SCIPY").unwrap_or_else(|_| "python3".to_owned());
    let rounds = if sites.len() > 10_000 { 1 } else { 3 };
    let mut best: Option<(f64, f64)> = None;
    for _ in 0..rounds {
        let mut child = Command::new(&python)
            .args(["-c", LINPROG])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .ok()?;
        let lines: Vec<String> = sites
            .iter()
            .map(|s| format!("{} {} {}", s.x, s.y, s.z))
            .collect();
        let text = lines.join("\n");
        // Without scipy it ends before it has read everything.
        let _ = child.stdin.take()?.write_all(text.as_bytes());
        let out = child.wait_with_output().ok()?;
        let told = String::from_utf8(out.stdout).ok()?;
        let mut numbers = told.split_whitespace().map(str::parse::<f64>);
        let found = (numbers.next()?.ok()?, numbers.next()?.ok()?);
        best = Some(best.map_or(found, |b| if found.0 < b.0 { found } else { b }));
    }
    best
}

fn map() {
    let length = |um: i64| Length::from_counts(um * 10_000).unwrap();
    let spots: Vec<PlacedPoint> = sites(25)
        .into_iter()
        .enumerate()
        .map(|(i, s)| PlacedPoint {
            point: format!("P{i}"),
            x: length(s.x),
            y: length(s.y),
            height: length(s.z),
        })
        .collect();
    let doubt = HeightUncertainty {
        touch: UncertaintyKind::Limits(length(10)),
        shared: UncertaintyKind::Limits(Length::ZERO),
    };
    let size = Some([length(400_000), length(300_000)]);
    let facts = PlateFacts {
        size,
        ..PlateFacts::with_uncertainty(doubt)
    };
    let land = TouchedPlate::of(&spots, facts).unwrap();
    let taken = each(|| {
        let map = land.map(black_box(length(-40)), 400, 300).unwrap();
        assert_eq!(map.cells.len(), 120_000);
    });
    println!(
        "map of 400 x 300 cells over 25 touches {:.2} ms, {:.2} of a screen refresh of 16 ms",
        taken.as_secs_f64() * 1e3,
        taken.as_secs_f64() / REFRESH.as_secs_f64()
    );
}
