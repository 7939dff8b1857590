//! Reading and following NC programs, as ratios to a general-purpose parser that only parses the same text, and to
//! counting its newlines. The programs are generated and streamed from a file; the parser takes no stream, so it has
//! the text in memory.
//!
//! `cargo bench --bench program`: 1 000, 100 000 and 2 million blocks; `-- --ten` adds 10 million. Where the system
//! reports it, the processor time of the thread is used, so that a busy machine has little influence. The smallest time
//! of all rounds counts: every disturbance only adds time.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
// Counts of blocks and bytes are far below what a float holds exactly.
#![allow(clippy::cast_precision_loss)]

use skimgate::cli::program::file;
use skimgate::program::dialect::Dialect;
use skimgate::program::examine::examine;
use skimgate::program::expr::Parameters;
use skimgate::program::setting::PathMode;
use skimgate::program::setup::{Cutter, Mill, Plate, Setup};
use skimgate::program::study::study;
use skimgate::program::time::Dynamics;
use skimgate::program::{block::Block, lex, lines::Lines};
use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

fn main() {
    let mut sizes = vec![1_000, 100_000, 2_000_000];
    if std::env::args().any(|a| a == "--ten") {
        sizes.push(10_000_000);
    }
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    println!("ns a block, least of the rounds; in brackets how many times as fast as the parser");
    for blocks in sizes {
        let text = generated(blocks);
        let path = folder.path().join("program.nc");
        std::fs::write(&path, &text).unwrap();
        let rounds = if blocks > 2_000_000 { 2 } else { 4 };
        measure(&path, &text, blocks, rounds);
    }
}

/// Rows of short blocks back and forth over a plate, with feed and decimals as post-processors write them. Invented.
fn generated(blocks: usize) -> String {
    let mut text = String::with_capacity(blocks * 24);
    text.push_str("%\nG21 G17 G90 G94 G40 G49 G80\nG54\nT1 M6\nS4000 M3\nG0 G43 H1 Z30.\nG0 X-20. Y-20.\nM8\nG0 Z5.\nG1 Z0. F250.\n");
    let each = 500;
    let rows = blocks.div_ceil(each).max(1);
    for n in 0..blocks {
        let (row, place) = (n / each, n % each);
        let along = if row % 2 == 0 {
            place
        } else {
            each - 1 - place
        };
        let x = -8.0 + 256.0 * along as f64 / (each - 1) as f64;
        let y = 4.0 + 112.0 * row as f64 / rows as f64;
        let _ = if place == 0 {
            writeln!(text, "N{} G1 X{x:.4} Y{y:.4} F600.", n % 99_999 + 1)
        } else {
            writeln!(text, "X{x:.4} Y{y:.4}")
        };
    }
    text.push_str("G0 Z30.\nM9\nM5\nM30\n%\n");
    text
}

fn setup() -> Setup {
    Setup {
        plate: Some(Plate {
            size: [240.0, 120.0],
            corner: Some([0.0, 0.0]),
        }),
        cutter: Some(Cutter {
            diameter: 12.0,
            corner: 0.2,
            teeth: Some(3.0),
            deepest_bite: Some(0.25),
            chip_load: Some([0.02, 0.1]),
            highest_speed: Some(10_000.0),
        }),
        mill: Some(Mill {
            speeds: Some([200.0, 10_000.0]),
            highest_feed: Some(4000.0),
            travel: Some([500.0, 320.0]),
            lowest_z: Some(-200.0),
            coolant: Some(true),
            clear_at_home: None,
            length_offsets: None,
        }),
        lowest_z: Some(0.0),
        ..Setup::default()
    }
}

/// Invented.
const MACHINE: Dynamics = Dynamics {
    acceleration: [600.0, 600.0, 400.0],
    rapid: [100.0, 100.0, 60.0],
    highest_feed: Some(50.0),
    path: PathMode::Continuous(None),
    corner: 0.02,
    block_rate: None,
    tool_change: 15.0,
    spin_up: 3.0,
};

/// Seconds of processor time of this thread; where the system does not report it, seconds by the clock.
fn spent(since: Instant) -> f64 {
    let ticks = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = ticks.and_then(|t| t.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| since.elapsed().as_secs_f64(), |ns| ns / 1e9)
}

fn measure(path: &Path, text: &str, blocks: usize, rounds: usize) {
    let dialect = Dialect::default();
    let setup = setup();
    let since = Instant::now();
    let mut works: [(&str, &mut dyn FnMut() -> usize); 5] = [
        ("the parser", &mut || gcode06::parse(text).count()),
        ("counting newlines", &mut || {
            black_box(text).bytes().filter(|b| *b == b'\n').count()
        }),
        ("reading alone", &mut || {
            let mut source = file::open(path).unwrap();
            let mut lines = Lines::new(&mut source);
            let (mut block, parameters) = (Block::default(), Parameters::default());
            let mut words = 0;
            while let Some(window) = lines.window().unwrap() {
                let length = lex::line(window, &parameters, &mut block);
                words += block.words.len();
                lines.advance(length).unwrap();
            }
            words
        }),
        ("all findings but coverage", &mut || {
            let mut source = file::open(path).unwrap();
            examine(&mut source, &dialect, &setup).unwrap().counts.len()
        }),
        ("everything", &mut || {
            let mut source = file::open(path).unwrap();
            let study = study(&mut source, &dialect, &setup, Some(MACHINE)).unwrap();
            usize::from(study.covered.is_some())
        }),
    ];
    let mut least = [f64::INFINITY; 5];
    // The system counts the time of a thread in ticks: short work is repeated until the time can be measured.
    let times = (2_000_000 / blocks).max(1);
    for _ in 0..rounds {
        for ((_, work), least) in works.iter_mut().zip(&mut least) {
            let before = spent(since);
            for _ in 0..times {
                black_box(work());
            }
            let each = (spent(since) - before) / times as f64;
            *least = least.min(each);
        }
    }
    println!(
        "{blocks} blocks, {:.1} MB, {rounds} rounds",
        text.len() as f64 / 1e6
    );
    for ((name, _), taken) in works.iter().zip(least) {
        println!(
            "  {name:<26} {:8.1} ns  ({:.2})",
            taken / blocks as f64 * 1e9,
            least[0] / taken
        );
    }
}
