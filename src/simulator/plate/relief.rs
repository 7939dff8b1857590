//! The hidden shape of a plate: tilt, twist, bow, a local low, waviness and grain, drawn from a seed.
//!
//! Whole numbers throughout: the shape is part of what a seed promises.

use super::super::{Chance, MM, Nm};
use super::{CELL, Plate};

/// How far from flat a plate is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Level {
    /// Nearly true: one roughing pass may do.
    Easy,
    /// As a newly mounted plate usually is.
    #[default]
    Usual,
    /// Twisted, bowed and dinged.
    Hard,
}

impl Level {
    /// All of them.
    pub(crate) const ALL: [Self; 3] = [Self::Easy, Self::Usual, Self::Hard];

    /// Its word.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Usual => "usual",
            Self::Hard => "hard",
        }
    }

    /// The level of a word.
    pub(crate) fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.word() == word)
    }

    /// Largest share of each part, in micrometres: tilt, twist, bow, low, waviness, grain.
    fn parts(self) -> [Nm; 6] {
        match self {
            Self::Easy => [70, 20, 20, 30, 4, 2],
            Self::Usual => [160, 50, 50, 80, 6, 3],
            Self::Hard => [260, 120, 110, 170, 10, 4],
        }
    }
}

/// One, in the fixed-point numbers that places on the plate are held in.
const ONE: i64 = 1 << 20;

/// The pitch of the waviness, in cells.
const WAVE: usize = 24;

impl Plate {
    /// The plate of a seed.
    pub fn of_seed(seed: u64, level: Level, corner: [Nm; 2], size: [Nm; 2], steel: Nm) -> Self {
        let mut plate = Self::flat(corner, size, CELL, steel);
        let shape = Shape::drawn(&mut Chance::of(seed, "plate"), level, &plate);
        let (columns, rows) = (plate.columns, plate.rows);
        plate.found = (0..rows)
            .flat_map(|row| (0..columns).map(move |column| (column, row)))
            .map(|(column, row)| shape.at(column, row, columns, rows))
            .collect();
        let mut grain = Chance::of(seed, "grain");
        for height in &mut plate.found {
            let drawn = grain.between(-shape.grain, shape.grain);
            *height += i32::try_from(drawn).unwrap_or(0);
        }
        plate.heights.clone_from(&plate.found);
        plate.ceiling = plate.found_extremes().1;
        plate
    }
}

struct Shape {
    tilt: [Nm; 2],
    twist: Nm,
    bow: [Nm; 2],
    /// Local lows: middle and reach in cells, and depth.
    lows: Vec<([i64; 2], i64, Nm)>,
    waves: Vec<Nm>,
    across: usize,
    grain: Nm,
}

impl Shape {
    fn drawn(chance: &mut Chance, level: Level, plate: &Plate) -> Self {
        let [tilt, twist, bow, low, wave, grain] = level.parts().map(|um| um * 1000);
        let mut part = |largest: Nm| chance.either_way(largest / 3, largest);
        let (tilt, twist, bow) = (
            [part(tilt), part(tilt)],
            part(twist),
            [part(bow), part(bow)],
        );
        let count = if level == Level::Hard { 2 } else { 1 };
        let [columns, rows] =
            [plate.columns, plate.rows].map(|n| i64::try_from(n).unwrap_or(i64::MAX));
        let lows = (0..count)
            .map(|_| {
                let middle = [columns, rows].map(|n| chance.between(n / 8, n * 7 / 8));
                // From twice the usual cutter to a third of the plate's width across.
                let reach = chance.between(24, (rows / 3).max(25));
                (middle, reach, chance.between(low / 2, low))
            })
            .collect();
        let across = plate.columns / WAVE + 2;
        let waves = (0..across * (plate.rows / WAVE + 2))
            .map(|_| chance.between(-wave, wave))
            .collect();
        Self {
            tilt,
            twist,
            bow,
            lows,
            waves,
            across,
            grain,
        }
    }

    fn at(&self, column: usize, row: usize, columns: usize, rows: usize) -> i32 {
        let place = |n: usize, of: usize| {
            let (n, of) = (
                i64::try_from(n).unwrap_or(0),
                i64::try_from(of).unwrap_or(1),
            );
            (2 * n + 1 - of) * ONE / of
        };
        let (u, v) = (place(column, columns), place(row, rows));
        let times = |a: i64, b: i64| a * b / ONE;
        let mut height = times(self.tilt[0], u) / 2 + times(self.tilt[1], v) / 2;
        height += times(times(self.twist, u), v);
        // A bow of so much from the middle to the ends.
        height -= times(times(self.bow[0], u), u) + times(times(self.bow[1], v), v);
        for (middle, reach, depth) in &self.lows {
            let x = i64::try_from(column).unwrap_or(0) - middle[0];
            let y = i64::try_from(row).unwrap_or(0) - middle[1];
            let inside = ONE - (x * x + y * y) * ONE / (reach * reach);
            if inside > 0 {
                height -= times(times(*depth, inside), inside);
            }
        }
        height += self.wave(column, row);
        i32::try_from(height.clamp(-50 * MM, 50 * MM)).unwrap_or(0)
    }

    /// Waviness: values on a wide grid, between them straight.
    fn wave(&self, column: usize, row: usize) -> Nm {
        let (i, j) = (column / WAVE, row / WAVE);
        let share = |n: usize| i64::try_from(n % WAVE).unwrap_or(0);
        let pitch = i64::try_from(WAVE).unwrap_or(1);
        let value = |i: usize, j: usize| self.waves.get(j * self.across + i).copied().unwrap_or(0);
        let between = |a: Nm, b: Nm, s: i64| a + (b - a) * s / pitch;
        let near = between(value(i, j), value(i + 1, j), share(column));
        let far = between(value(i, j + 1), value(i + 1, j + 1), share(column));
        between(near, far, share(row))
    }
}

#[cfg(test)]
mod tests {
    use super::{Level, Plate};
    use crate::simulator::MM;

    fn plate(seed: u64, level: Level) -> Plate {
        Plate::of_seed(
            seed,
            level,
            [30 * MM, 30 * MM],
            [240 * MM, 120 * MM],
            4 * MM,
        )
    }

    #[test]
    fn one_seed_is_one_plate() {
        assert_eq!(plate(7, Level::Usual), plate(7, Level::Usual));
        assert_ne!(
            plate(7, Level::Usual).digest(),
            plate(8, Level::Usual).digest()
        );
        // Pinned: a trainer's seed must mean the same plate on every machine and in every version.
        assert_eq!(
            plate(7, Level::Usual).digest().to_string(),
            "40f0b54bdfbd6f4b7d62e428a20ea9c705b799f33aa00c0a092846c3aef41114"
        );
    }

    #[test]
    fn a_harder_level_lies_further_from_flat() {
        let spread = |level| {
            let sum: i64 = (0..10)
                .map(|seed| {
                    let (low, high) = plate(seed, level).found_extremes();
                    high - low
                })
                .sum();
            sum / 10
        };
        let spreads = Level::ALL.map(spread);
        assert!(
            spreads[0] < spreads[1] && spreads[1] < spreads[2],
            "{spreads:?}"
        );
        // Common practice, no source: a newly mounted plate lies within a few tenths of a millimetre.
        assert!((MM / 10..MM).contains(&spreads[1]), "{spreads:?}");
    }
}
