//! Compares the map of `skimgate plane` with invented plates whose true surface is known: of the positions that it
//! calls clean, fewer than 1 in 100 keep old surface. The truth is computed here, from the surface itself and not by
//! the program.
//!
//! All plates and their touches are invented: tilted and twisted, dished or crowned, waved, and with dips between the
//! touches; each also has a tilt and fine waves. A touch reads the highest metal under the rim of a turning cutter, one
//! standing tooth off the cutter's middle, or the metal under a probe, with an error of up to 0.01 mm. The error of the
//! plane that is cut is up to 0.03 mm, as from setting Z with steps of 0.01 mm (common practice, no source).

use serde_json::Value;
use std::f64::consts::{PI, TAU};
use std::io::Write;
use std::process::{Command, Stdio};

/// Number of plates without `SKIMGATE_TEST_PLATES`; a quarter of each kind. `SKIMGATE_TEST_SEED` makes different ones.
const PLATES: usize = 96;
/// The promised fraction of wrong positions.
const WRONG: f64 = 0.01;

/// SplitMix64 (from memory).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    #[allow(clippy::cast_precision_loss)]
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn off(&mut self, most: f64) -> f64 {
        self.between(-most, most)
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[usize::try_from(self.next() % all.len() as u64).unwrap()]
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    Tilted,
    Bowed,
    Waved,
    Dipped,
}

const KINDS: [Kind; 4] = [Kind::Tilted, Kind::Bowed, Kind::Waved, Kind::Dipped];

struct Wave {
    half: f64,
    along: [f64; 2],
    phase: f64,
}

struct Dip {
    at: [f64; 2],
    radius: f64,
    deep: f64,
}

/// A surface in mm, with its origin at the front left corner.
struct Plate {
    size: [f64; 2],
    tilt: [f64; 2],
    twist: f64,
    bow: [f64; 2],
    waves: Vec<Wave>,
    dips: Vec<Dip>,
}

impl Plate {
    fn invent(kind: Kind, chance: &mut Chance) -> Self {
        let size = chance.one_of(&[[240.0, 120.0], [400.0, 300.0], [610.0, 406.0]]);
        let wave = |half: f64, long: f64, chance: &mut Chance| {
            let way = chance.between(0.0, TAU);
            Wave {
                half,
                along: [TAU / long * way.cos(), TAU / long * way.sin()],
                phase: chance.between(0.0, TAU),
            }
        };
        let mut plate = Self {
            size,
            tilt: [0, 1].map(|k| chance.off(0.15) / size[k]),
            twist: 0.0,
            bow: [0.0; 2],
            waves: Vec::new(),
            dips: Vec::new(),
        };
        let (half, long) = (chance.between(0.0, 0.005), chance.between(30.0, 150.0));
        plate.waves.push(wave(half, long, chance));
        match kind {
            Kind::Tilted => {
                plate.tilt = [0, 1].map(|k| chance.off(0.4) / size[k]);
                plate.twist = chance.off(0.1) / (size[0] * size[1]);
            }
            Kind::Bowed => {
                let deep = chance.between(0.05, 0.4) * chance.one_of(&[1.0, -1.0]);
                let across = chance.one_of(&[0.0, 1.0]);
                plate.bow = [deep, across * deep];
            }
            Kind::Waved => {
                for _ in 0..chance.one_of(&[1, 2]) {
                    let (half, long) = (chance.between(0.01, 0.06), chance.between(40.0, 300.0));
                    plate.waves.push(wave(half, long, chance));
                }
            }
            Kind::Dipped => {
                for _ in 0..chance.one_of(&[1, 1, 2, 3]) {
                    plate.dips.push(Dip {
                        at: [chance.between(0.0, size[0]), chance.between(0.0, size[1])],
                        radius: chance.between(5.0, 40.0),
                        deep: chance.between(0.05, 0.4),
                    });
                }
            }
        }
        plate
    }

    fn height(&self, [x, y]: [f64; 2]) -> f64 {
        let share = [x / self.size[0] * 2.0 - 1.0, y / self.size[1] * 2.0 - 1.0];
        let mut z = self.tilt[0] * x + self.tilt[1] * y;
        z += self.twist * (x - self.size[0] / 2.0) * (y - self.size[1] / 2.0);
        z += self.bow[0] * share[0] * share[0] + self.bow[1] * share[1] * share[1];
        for w in &self.waves {
            z += w.half * (w.along[0] * x + w.along[1] * y + w.phase).sin();
        }
        for d in &self.dips {
            let away = (x - d.at[0]).hypot(y - d.at[1]) / d.radius;
            if away < 1.0 {
                z -= d.deep * (1.0 + (PI * away).cos()) / 2.0;
            }
        }
        z
    }

    fn on(&self, at: [f64; 2]) -> bool {
        (0..2).all(|k| (0.0..=self.size[k]).contains(&at[k]))
    }

    /// The reading of a touch, without its error.
    fn read(&self, [x, y]: [f64; 2], radius: f64, way: Way) -> f64 {
        let rim = |angle: f64| [x + radius * angle.cos(), y + radius * angle.sin()];
        match way {
            Way::Probe => self.height([x, y]),
            Way::Tooth(angle) if self.on(rim(angle)) => self.height(rim(angle)),
            Way::Tooth(_) | Way::Turning => {
                let rim = (0..72).map(|i| rim(TAU * f64::from(i) / 72.0));
                let metal = rim.filter(|at| self.on(*at)).map(|at| self.height(at));
                metal.fold(f64::NEG_INFINITY, f64::max)
            }
        }
    }
}

#[derive(Clone, Copy)]
enum Way {
    Turning,
    Tooth(f64),
    Probe,
}

const PATTERNS: [&str; 6] = [
    "corners and middle",
    "3 x 3",
    "12 scattered",
    "13",
    "5 x 5",
    "10 x 10",
];

fn grid(count: u32, margin: [f64; 2]) -> Vec<[f64; 2]> {
    let line = |k: usize, i: u32| {
        margin[k] + (1.0 - 2.0 * margin[k]) * f64::from(i) / f64::from(count - 1)
    };
    (0..count * count)
        .map(|i| [line(0, i % count), line(1, i / count)])
        .collect()
}

/// The touched positions, as fractions of the plate.
fn places(pattern: usize, chance: &mut Chance) -> Vec<[f64; 2]> {
    let margin = [0.08, 0.15];
    match pattern {
        0 => [grid(2, margin), vec![[0.5, 0.5]]].concat(),
        1 => grid(3, margin),
        2 => {
            let mut all = grid(2, margin);
            all.extend((0..8).map(|_| [chance.between(0.05, 0.95), chance.between(0.05, 0.95)]));
            all
        }
        3 => [grid(3, margin), grid(2, [0.29, 0.325])].concat(),
        4 => grid(5, [0.05, 0.08]),
        _ => grid(10, [0.04, 0.06]),
    }
}

/// The number of cells in each class of the map, and how many of each keep old surface.
#[derive(Clone, Copy, Default)]
struct Count {
    cells: u32,
    cleans: [u32; 2],
    likely: [u32; 2],
    /// Number of plates called clean all over, and how many of them keep old surface.
    whole: [u32; 2],
}

impl Count {
    fn add(&mut self, class: &str, skin: bool) {
        self.cells += 1;
        let of = match class {
            "cleans" => &mut self.cleans,
            "likely" => &mut self.likely,
            _ => return,
        };
        of[0] += 1;
        of[1] += u32::from(skin);
    }

    fn and(&mut self, other: &Self) {
        self.cells += other.cells;
        for k in 0..2 {
            self.cleans[k] += other.cleans[k];
            self.likely[k] += other.likely[k];
            self.whole[k] += other.whole[k];
        }
    }

    fn wrong(&self) -> f64 {
        f64::from(self.cleans[1]) / f64::from(self.cleans[0].max(1))
    }

    fn words(&self) -> String {
        let share = |a: u32, b: u32| 100.0 * f64::from(a) / f64::from(b.max(1));
        format!(
            "{:5.1} % called clean, {:5.3} % of that wrong; {:5.1} % likely, {:6.3} % of that wrong",
            share(self.cleans[0], self.cells),
            share(self.cleans[1], self.cleans[0]),
            share(self.likely[0], self.cells),
            share(self.likely[1], self.likely[0]),
        )
    }
}

/// The output of `skimgate plane --json` for these arguments and this file.
fn answer(arguments: &[String], file: &str) -> Value {
    let mut child = Command::new(env!("CARGO_BIN_EXE_skimgate"))
        .args([
            "plane",
            "--json",
            "--unit",
            "mm",
            "--max-bite",
            "1",
            "--zero",
            "fixed",
        ])
        .args(arguments)
        .arg("-")
        .env_clear()
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(file.as_bytes())
        .unwrap();
    let out = child.wait_with_output().unwrap();
    assert!(out.status.success(), "{arguments:?}\n{file}\n{out:?}");
    serde_json::from_slice(&out.stdout).unwrap()
}

/// Touches one plate, asks for its map, and compares the map with the true surface.
fn plate(kind: Kind, pattern: usize, chance: &mut Chance) -> Count {
    let plate = Plate::invent(kind, chance);
    let cutter = chance.one_of(&[10.0, 12.0, 16.0, 25.0, 50.0]);
    let angle = chance.between(0.0, TAU);
    let way = chance.one_of(&[Way::Turning, Way::Turning, Way::Tooth(angle), Way::Probe]);
    let places: Vec<[f64; 2]> = places(pattern, chance)
        .iter()
        .map(|share| [share[0] * plate.size[0], share[1] * plate.size[1]])
        .collect();
    let readings: Vec<f64> = places
        .iter()
        .map(|at| plate.read(*at, cutter / 2.0, way) + chance.off(0.01))
        .collect();
    let mut file = "point,reading,x,y\n".to_owned();
    for (i, (at, reading)) in places.iter().zip(&readings).enumerate() {
        let height = reading - readings[0];
        file.push_str(&format!("P{i},{height:.4},{:.3},{:.3}\n", at[0], at[1]));
    }
    let ends = |pick: fn(f64, f64) -> f64| readings.iter().copied().reduce(pick).unwrap();
    let (low, high) = (ends(f64::min) - readings[0], ends(f64::max) - readings[0]);
    let clearance = chance.one_of(&[0.02, 0.05, 0.1, 0.15]);
    let plane = if chance.one_of(&[true, true, false]) {
        low - clearance
    } else {
        chance.between(low - 0.1, high)
    };
    let arguments = [
        format!("--diameter={cutter}"),
        format!("--size={},{}", plate.size[0], plate.size[1]),
        format!("--plane={plane:.4}"),
        format!("--clearance={clearance}"),
        "--step=0.01".to_owned(),
    ];
    let answer_json = answer(&arguments, &file);
    let parts = [0.01, 0.005, 0.01, 0.005];
    let cut = plane + readings[0] + parts.iter().map(|p| chance.off(*p)).sum::<f64>();
    let (mut count, mut any_skin) = (Count::default(), false);
    let rows = answer_json["map"]["rows"].as_array().unwrap();
    for (row, y) in rows.iter().zip(0_u32..) {
        let cells = row.as_array().unwrap();
        for (cell, x) in cells.iter().zip(0_u32..) {
            let part =
                |i: u32, of: usize| (f64::from(i) + 0.5) / f64::from(u32::try_from(of).unwrap());
            let at = [
                part(x, cells.len()) * plate.size[0],
                part(y, rows.len()) * plate.size[1],
            ];
            let skin = plate.height(at) < cut;
            count.add(cell["class"].as_str().unwrap(), skin);
            any_skin |= skin;
        }
    }
    // "Clean all over" is a statement about every position, whatever the map shows for each cell.
    let skin = any_skin;
    if answer_json["verdict"]["shares"]["cleans"].as_f64() == Some(1.0) {
        count.whole = [1, u32::from(skin)];
    }
    count
}

/// A pure tilt, its corner 0.042 mm below the plane: 5 touches 8 and 15 % inside the edges of 400 x 300 mm, 0.05 mm of
/// clearance. By hand: the corner is 32 x 0.001 + 45 x 0.00133.. = 0.092 mm below the lowest touch.
#[test]
fn a_tilted_corner_below_the_plane_is_not_called_clean() {
    let mut file = "point,reading,x,y\n".to_owned();
    for (i, [x, y]) in places(0, &mut Chance(1)).into_iter().enumerate() {
        let at = [x * 400.0, y * 300.0];
        let rise = (at[0] - 32.0) * 0.001 + (at[1] - 45.0) * 0.06 / 45.0;
        file.push_str(&format!("P{i},{rise:.6},{:.3},{:.3}\n", at[0], at[1]));
    }
    let arguments = [
        "--diameter=12",
        "--size=400,300",
        "--clearance=0.05",
        "--step=0.01",
    ];
    let answer_json = answer(&arguments.map(str::to_owned), &file);
    let verdict = &answer_json["verdict"];
    let worst = &verdict["worst"];
    assert_eq!(
        (worst["x_mm"].as_f64(), worst["y_mm"].as_f64()),
        (Some(0.0), Some(0.0))
    );
    assert!(
        (worst["depth_mm"].as_f64().unwrap() + 0.042).abs() < 1e-4,
        "{worst}"
    );
    assert!(
        verdict["shares"]["cleans"].as_f64().unwrap() < 0.1,
        "{verdict}"
    );
    assert_eq!(answer_json["map"]["rows"][0][0]["class"], "stays");
}

/// A plate whose dip no touch found is not called clean all over.
#[test]
fn a_plate_with_a_dip_that_keeps_skin_is_not_called_clean_all_over() {
    let mut chance = Chance(80 + seed());
    let (mut found, count) = (Count::default(), plates().min(80));
    for i in 0..count {
        found.and(&plate(Kind::Dipped, i % PATTERNS.len(), &mut chance));
    }
    println!("{count} plates with dips: {}", found.words());
    println!(
        "called clean all over {}, of them with skin {}",
        found.whole[0], found.whole[1]
    );
    assert!(found.wrong() < WRONG, "{}", found.words());
    assert_eq!(found.whole[1], 0);
}

fn plates() -> usize {
    let setting = std::env::var("SKIMGATE_TEST_PLATES").ok();
    setting.and_then(|n| n.parse().ok()).unwrap_or(PLATES)
}

/// A different number makes different plates.
fn seed() -> u64 {
    let setting = std::env::var("SKIMGATE_TEST_SEED").ok();
    setting.and_then(|n| n.parse().ok()).unwrap_or(0)
}

#[test]
fn fewer_than_one_in_a_hundred_places_called_clean_keep_skin() {
    let mut chance = Chance(7 + seed());
    let mut found = [[Count::default(); PATTERNS.len()]; KINDS.len()];
    let count = plates();
    for i in 0..count {
        let (kind, pattern) = (i % KINDS.len(), i / KINDS.len() % PATTERNS.len());
        let one = plate(KINDS[kind], pattern, &mut chance);
        found[kind][pattern].and(&one);
    }
    let sum = |all: &mut dyn Iterator<Item = &Count>| {
        let mut sum = Count::default();
        all.for_each(|c| sum.and(c));
        sum
    };
    println!("{count} invented plates");
    let mut late = Vec::new();
    for (kind, row) in KINDS.iter().zip(&found) {
        let of = sum(&mut row.iter());
        println!("{:20} {}", format!("{kind:?}"), of.words());
        if of.wrong() >= WRONG {
            late.push(format!("{kind:?}"));
        }
    }
    for (i, pattern) in PATTERNS.iter().enumerate() {
        let of = sum(&mut found.iter().map(|row| &row[i]));
        println!("{pattern:20} {}", of.words());
    }
    let all = sum(&mut found.iter().flatten());
    println!("{:20} {}", "all", all.words());
    println!(
        "called clean all over {}, of them with skin {}",
        all.whole[0], all.whole[1]
    );
    assert!(late.is_empty(), "{late:?}");
    assert_eq!(all.whole[1], 0);
    // A map that calls almost nothing clean would be useless too.
    let called = all.cleans[0] + all.likely[0];
    assert!(
        all.cleans[0] * 20 > all.cells && called * 2 > all.cells,
        "{}",
        all.words()
    );
}
