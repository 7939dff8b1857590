//! The plate as a picture of characters, and as words and numbers for who does not see pictures.

use super::plate::SKIN;
use super::words::length_with_unit;
use super::{Nm, Plate};
use crate::quantity::UnitSystem;

/// How wide and high a map is, in characters.
const SIZE: [usize; 2] = [60, 15];

/// What a patch of the plate looks like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Patch {
    Skin,
    Some,
    Clean,
}

impl Plate {
    /// The cells of one patch of a grid of `across` by `down`, as indices; `j` counts from the back, as one looks at it.
    fn patch(&self, [across, down]: [usize; 2], i: usize, j: usize) -> impl Iterator<Item = usize> {
        let part = |n: usize, of: usize, all: usize| {
            n * all / of..((n + 1) * all / of).max(n * all / of + 1)
        };
        let columns = part(i, across, self.columns);
        let rows = part(down - 1 - j, down, self.rows);
        let wide = self.columns;
        rows.flat_map(move |row| columns.clone().map(move |column| row * wide + column))
    }

    fn look(&self, grid: [usize; 2], i: usize, j: usize) -> Patch {
        let (mut skin, mut all) = (0, 0);
        for index in self.patch(grid, i, j) {
            let (Some(found), Some(now)) = (self.found.get(index), self.heights.get(index)) else {
                continue;
            };
            all += 1;
            skin += usize::from(found - now < SKIN);
        }
        if skin == 0 {
            Patch::Clean
        } else if skin == all {
            Patch::Skin
        } else {
            Patch::Some
        }
    }

    /// The mean height of a patch, as found or now.
    fn mean(&self, heights: &[i32], grid: [usize; 2], i: usize, j: usize) -> Nm {
        let mut sum = (0, 0);
        for height in self
            .patch(grid, i, j)
            .filter_map(|index| heights.get(index))
        {
            sum = (sum.0 + Nm::from(*height), sum.1 + 1);
        }
        sum.0 / sum.1.max(1)
    }
}

/// Where old skin is left, as the eye sees it from the front.
pub fn skin(plate: &Plate) -> Vec<String> {
    let mut lines: Vec<String> = (0..SIZE[1])
        .map(|j| {
            (0..SIZE[0])
                .map(|i| match plate.look(SIZE, i, j) {
                    Patch::Skin => '#',
                    Patch::Some => '+',
                    Patch::Clean => '.',
                })
                .collect()
        })
        .collect();
    lines.push(
        "# old skin   + some of it   . cut clean   (back above, left at the left)".to_owned(),
    );
    lines
}

/// The names of nine parts of the face, back row first.
const PARTS: [[&str; 3]; 3] = [
    ["back left", "back middle", "back right"],
    ["middle left", "middle", "middle right"],
    ["front left", "front middle", "front right"],
];

/// Where old skin is left, in words.
pub fn skin_in_words(plate: &Plate) -> Vec<String> {
    let mut lines = vec![format!(
        "{} of the face is cut clean.",
        thousandths(plate.cleaned())
    )];
    for (j, row) in PARTS.iter().enumerate() {
        for (i, name) in row.iter().enumerate() {
            let looks = match plate.look([3, 3], i, j) {
                Patch::Skin => "old skin",
                Patch::Some => "some old skin",
                Patch::Clean => "clean",
            };
            lines.push(format!("{name}: {looks}"));
        }
    }
    lines
}

/// A share in thousandths as a percentage.
pub fn thousandths(share: u64) -> String {
    format!("{}.{} %", share / 10, share % 10)
}

/// The hidden heights as found: digits from 0 at the lowest to 9 at the highest.
pub fn heights(plate: &Plate) -> Vec<String> {
    let (low, high) = plate.found_extremes();
    let span = (high - low).max(1);
    (0..SIZE[1])
        .map(|j| {
            (0..SIZE[0])
                .map(|i| {
                    let mean = plate.mean(&plate.found, SIZE, i, j);
                    let digit = ((mean - low) * 10 / span).clamp(0, 9);
                    char::from_digit(u32::try_from(digit).unwrap_or(0), 10).unwrap_or('?')
                })
                .collect()
        })
        .collect()
}

/// The hidden heights of nine parts, found and now, in numbers.
pub fn heights_in_numbers(plate: &Plate, system: UnitSystem) -> Vec<String> {
    let mut lines = Vec::new();
    for (j, row) in PARTS.iter().enumerate() {
        for (i, name) in row.iter().enumerate() {
            let found = plate.mean(&plate.found, [3, 3], i, j);
            let now = plate.mean(&plate.heights, [3, 3], i, j);
            lines.push(format!(
                "{name}: found at {}, now {}",
                length_with_unit(found, system),
                length_with_unit(now, system)
            ));
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::{skin, skin_in_words};
    use crate::rehearse::{Cutter, MM, Plate};

    #[test]
    fn a_row_shows_as_clean_from_left_to_right() {
        let mut plate = Plate::flat([0, 0], [240 * MM, 120 * MM], MM / 2, 4 * MM);
        assert!(skin(&plate)[0].chars().all(|c| c == '#'));
        let cutter = Cutter {
            diameter: 50 * MM,
            corner: 0,
            tilt_x: 0,
            tilt_y: 0,
            deepest: MM,
        };
        plate.sweep(&cutter, [-30 * MM, 0, -MM / 10], [270 * MM, 0, -MM / 10]);
        let map = skin(&plate);
        assert!(map[14].chars().all(|c| c == '.'), "{}", map[14]);
        assert!(map[0].chars().all(|c| c == '#'), "{}", map[0]);
        let words = skin_in_words(&plate);
        assert!(
            words.contains(&"back middle: old skin".to_owned()),
            "{words:?}"
        );
        assert!(
            words.contains(&"front middle: some old skin".to_owned()),
            "{words:?}"
        );
        // 25 of 120 mm
        assert!(words[0].starts_with("20."), "{}", words[0]);
    }
}
