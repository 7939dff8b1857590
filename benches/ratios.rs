//! Speeds as ratios, each measured against its yardstick in the same run, turn and turn about, so that a busy or slow
//! machine bears on both alike. Medians, since a disk's slowest moments say nothing of the program.
//!
//! `cargo bench --bench ratios`; a number after `--` is how often each is done.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use rusqlite::{Connection, TransactionBehavior};
use skimgate::book::{Book, Draft};
use skimgate::cli::files::{ANSWERS, BASE_PLATE, PROGRAM, SHOP};
use skimgate::diagnostics::Findings;
use skimgate::procedure::{read, shop};
use skimgate::simulator::{Cutter, Level, MM, Plate};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const PROGRAM_UNDER_TEST: &str = env!("CARGO_BIN_EXE_skimgate");

fn main() {
    let times = std::env::args().find_map(|a| a.parse().ok()).unwrap_or(200);
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    println!("medians of {times}");
    start(folder.path(), times);
    append(folder.path(), times);
    walk(folder.path(), (times / 10).max(3));
    practice_pass((times / 10).max(3));
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn timed<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let since = Instant::now();
    let done = work();
    (since.elapsed(), done)
}

/// Times several works in turn, `times` times each; the median of each.
fn in_turn<const N: usize>(times: usize, mut works: [&mut dyn FnMut(); N]) -> [Duration; N] {
    let mut taken: [Vec<Duration>; N] = std::array::from_fn(|_| Vec::new());
    for round in 0..=times {
        for (work, taken) in works.iter_mut().zip(&mut taken) {
            let (time, ()) = timed(&mut **work);
            // The first round warms up.
            if round > 0 {
                taken.push(time);
            }
        }
    }
    taken.map(median)
}

fn run(program: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(program);
    command.args(args).env_clear().stdin(Stdio::null());
    command.output().unwrap()
}

/// A program that does nothing, built as this one is.
fn empty_program(folder: &Path) -> PathBuf {
    let (source, program) = (folder.join("empty.rs"), folder.join("empty"));
    std::fs::write(&source, "fn main() {}").unwrap();
    let compiler = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let built = Command::new(compiler)
        .args(["-O", "-C", "strip=symbols", "-o"])
        .args([&program, &source])
        .status();
    assert!(built.unwrap().success(), "the empty program was not built");
    program
}

fn start(folder: &Path, times: usize) {
    let empty = empty_program(folder);
    let skimgate = Path::new(PROGRAM_UNDER_TEST);
    let at = |name: &str| folder.join(name).to_str().unwrap().to_owned();
    let (book, answers, plate) = (at("start.sqlite3"), at("none.yaml"), at("base-plate.yaml"));
    drop(Book::open(&book).unwrap());
    std::fs::write(&answers, "{}\n").unwrap();
    std::fs::write(&plate, BASE_PLATE).unwrap();

    // Without an answer the walk ends at its first question, with all read, checked and opened that comes before it.
    let walk = ["walk", "--answers", &answers, "--book", &book];
    let asked = String::from_utf8(run(skimgate, &walk).stderr).unwrap();
    assert!(
        asked.contains("Who is at the control?"),
        "not the first question: {asked}"
    );
    let check = ["check", &plate];
    let checks = run(skimgate, &check).status.success();

    let [nothing, version, prompt, checked, reading] = in_turn(
        times,
        [
            &mut || assert!(run(&empty, &[]).status.success()),
            &mut || assert!(run(skimgate, &["--version"]).status.success()),
            &mut || drop(run(skimgate, &walk)),
            &mut || {
                if checks {
                    assert!(run(skimgate, &check).status.success());
                }
            },
            &mut || {
                let mut findings = Findings::default();
                assert!(read::read(BASE_PLATE, &mut findings).is_some());
                assert!(shop::read(SHOP, &mut findings).is_some());
            },
        ],
    );
    println!("\nstarting up (goal: within 10 ms of an empty program)");
    println!(
        "  an empty program                      {:8.3} ms",
        ms(nothing)
    );
    let beside = |what: &str, time: Duration| {
        let more = ms(time) - ms(nothing);
        println!("  {what:<36}  {:8.3} ms   {more:+.3} ms", ms(time));
    };
    beside("skimgate --version", version);
    beside("skimgate walk, to its first question", prompt);
    if checks {
        beside("skimgate check base-plate.yaml", checked);
    }
    println!(
        "  of which reading both files, in-process {:6.3} ms",
        ms(reading)
    );
}

fn draft(n: usize) -> Draft {
    Draft {
        at: "2026-03-01T13:32:05.250Z".to_owned(),
        kind: "answered".to_owned(),
        version: 1,
        body: format!(
            r#"{{"answered":{{"at":{{"step":"feed","pass":{n}}},"answer":{{"number":"800 mm/min"}},"by":"QZ"}}}}"#
        ),
    }
}

/// A table of one column, with the journal kept as the book keeps it.
fn bare(path: &Path) -> Connection {
    let bare = Connection::open(path).unwrap();
    bare.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(()))
        .unwrap();
    bare.pragma_update(None, "synchronous", "EXTRA").unwrap();
    bare.execute_batch("CREATE TABLE t (body TEXT NOT NULL)")
        .unwrap();
    bare
}

fn commit(bare: &mut Connection, body: &str) {
    let transaction = bare
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .unwrap();
    transaction
        .prepare_cached("INSERT INTO t (body) VALUES (?1)")
        .unwrap()
        .execute([body])
        .unwrap();
    transaction.commit().unwrap();
}

fn append(folder: &Path, times: usize) {
    let mut bare = bare(&folder.join("bare.sqlite3"));
    let mut book = Book::open(folder.join("append.sqlite3")).unwrap();
    book.begin("r1", "mill", &[], &[draft(0)]).unwrap();
    let (mut n, mut last) = (0, 1);
    let [yardstick, appended] = in_turn(
        times * 5,
        [
            &mut || {
                n += 1;
                commit(&mut bare, &draft(n).body);
            },
            &mut || {
                let written = book.append("r1", last, &[draft(1)], false).unwrap();
                last = written.last().unwrap().n;
            },
        ],
    );
    println!("\nan answer on disk (goal: within 1.5 times a bare commit)");
    println!(
        "  a bare commit, DELETE and EXTRA       {:8.3} ms",
        ms(yardstick)
    );
    let ratio = ms(appended) / ms(yardstick);
    println!(
        "  Book::append of one entry             {:8.3} ms   {ratio:.2} times",
        ms(appended)
    );
}

/// Bare commits beside one walk: a single one would say little of the disk at that moment.
const COMMITS: u32 = 50;

/// The whole main job from answers, spread over its entries: deciding, drawing and all.
fn walk(folder: &Path, times: usize) {
    std::fs::write(folder.join("two-roughing.yaml"), ANSWERS).unwrap();
    std::fs::write(folder.join("facing-12mm.nc"), PROGRAM).unwrap();
    let answers = folder.join("two-roughing.yaml");
    let mut bare = bare(&folder.join("bare-walk.sqlite3"));
    let (mut round, mut entries) = (0, 1);
    let [yardstick, walked] = in_turn(
        times,
        [
            &mut || (0..COMMITS).for_each(|_| commit(&mut bare, &draft(0).body)),
            &mut || {
                round += 1;
                let book = folder.join(format!("walk-{round}.sqlite3"));
                let (path, from) = (book.to_str().unwrap(), answers.to_str().unwrap());
                let output = run(
                    Path::new(PROGRAM_UNDER_TEST),
                    &["walk", "--answers", from, "--book", path],
                );
                assert!(
                    output.status.success(),
                    "{}",
                    String::from_utf8_lossy(&output.stderr)
                );
                entries = Book::open_existing(&book).unwrap().runs().unwrap()[0].entries;
            },
        ],
    );
    let each = ms(walked) / f64::from(entries);
    println!("\na whole walk from answers, {entries} entries");
    println!(
        "  all of it                             {:8.3} ms",
        ms(walked)
    );
    println!(
        "  for each entry                        {each:8.3} ms   {:.2} times a bare commit",
        each * f64::from(COMMITS) / ms(yardstick)
    );
}

/// A whole pass over a practice plate of 400 x 300 mm at half a millimetre a cell: 100 rows of a 12 mm cutter, tilted both
/// ways. Beside it the least that any such model does: each row's cells taken one by one to a level, no cutter at all.
fn practice_pass(times: usize) {
    const ROWS: i64 = 100;
    let plate = Plate::of_seed(7, Level::Usual, [0, 0], [400 * MM, 300 * MM], 4 * MM);
    let cutter = Cutter {
        diameter: 12 * MM,
        corner: 0,
        tilt_x: 40_000,
        tilt_y: 80_000,
        deepest: MM / 4,
    };
    let apart = 300 * MM / (ROWS - 1);
    let mut clean = true;
    let mut levelled = 0;
    let [pass, level] = in_turn(
        times,
        [
            &mut || {
                let mut plate = plate.clone();
                for row in 0..ROWS {
                    let y = row * apart;
                    plate.sweep(&cutter, [-10 * MM, y, -MM], [410 * MM, y, -MM]);
                    plate.sweep(&cutter, [410 * MM, y, -MM], [410 * MM, y + apart, -MM]);
                }
                clean &= plate.is_clean();
            },
            &mut || {
                let mut heights = plate.heights.clone();
                for row in 0..ROWS {
                    let near = |y: i64| usize::try_from((y / plate.cell).max(0)).unwrap();
                    let from = near(row * apart - 6 * MM).min(plate.rows);
                    let to = near(row * apart + 6 * MM).min(plate.rows);
                    for height in &mut heights[from * plate.columns..to * plate.columns] {
                        *height = (*height).min(-1_000_000);
                    }
                }
                levelled += heights.iter().filter(|h| **h == -1_000_000).count();
            },
        ],
    );
    assert!(clean && levelled > 0);
    println!("\na practice pass, 400 x 300 mm, 0.5 mm cells, {ROWS} rows (goal: under 1 s)");
    println!(
        "  levelling the same cells              {:8.3} ms",
        ms(level)
    );
    let ratio = pass.as_secs_f64() / level.as_secs_f64();
    println!(
        "  sweeping the cutter over them         {:8.3} ms   {ratio:.1} times",
        ms(pass)
    );
}
