//! The plate seen from above, front at the bottom, in its own proportions: what a plane cleans up, every touch with its
//! name and value, the cutter to the same scale. Letters carry the meaning; colour only repeats it.

use super::paint;
use super::style::{Depth, Style};
use crate::plate::Class;
use crate::plate::between::Map;
use crate::quantity::{Length, Unit, UnitSystem};
use crate::report::land::left_out;
use crate::report::page::{Picture, Tone};

/// Rows at most, so that a small screen holds the map.
const ROWS: usize = 18;
/// A character is about twice as high as wide.
const HIGH: f64 = 2.0;
/// Parts of a plate that are told in words, and what they are called.
const PARTS: [&str; 3] = ["front", "middle", "back"];
const SIDES: [&str; 3] = ["left", "middle", "right"];

fn letter(class: Class) -> char {
    match class {
        Class::Cleans => '.',
        Class::Likely => '-',
        Class::NotKnown => '?',
        Class::Stays => '#',
    }
}

fn tone(class: Class) -> Tone {
    match class {
        Class::Cleans => Tone::Good,
        Class::Likely => Tone::Plain,
        Class::NotKnown => Tone::Look,
        Class::Stays => Tone::Stop,
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // kept within the drawing
fn whole(value: f64, least: usize, most: usize) -> usize {
    (value.max(0.0).round() as usize).clamp(least, most)
}

/// Columns and rows for a plate within so many columns.
#[allow(clippy::cast_precision_loss)]
fn fit(size: [f64; 2], room: usize) -> (usize, usize) {
    let ratio = if size[0] > 0.0 {
        size[1] / size[0]
    } else {
        1.0
    };
    let rows = whole(room as f64 * ratio / HIGH, 2, 1000);
    if rows <= ROWS {
        return (room, rows);
    }
    (whole(ROWS as f64 * HIGH / ratio, 3, room), ROWS)
}

/// The lines of the map with its legend, indentation included; none where it cannot be drawn.
pub fn lines(picture: &Picture, indent: usize, style: &Style) -> Vec<String> {
    let land = &picture.land;
    let room = style.width.saturating_sub(indent + 2).clamp(8, 76);
    let (columns, rows) = fit(land.size(), room);
    let Ok(map) = land.map(picture.plane, columns, rows) else {
        return Vec::new();
    };
    let pad = " ".repeat(indent);
    let rule = format!("{pad}+{}+", "-".repeat(columns));
    let mut out = vec![format!("{pad}back"), rule.clone()];
    let labels = labels(picture, &map);
    for row in (0..rows).rev() {
        let mut line = format!("{pad}|");
        let mut run = (Tone::Plain, String::new());
        for column in 0..columns {
            let index = row * columns + column;
            let class = map.cells.get(index).map_or(Class::NotKnown, |c| c.class);
            let (new, letter) = match labels.get(index).copied().flatten() {
                Some(c) => (Tone::Strong, c),
                None => (tone(class), letter(class)),
            };
            if new != run.0 {
                line.push_str(&paint::tone(run.0, &run.1, style));
                run = (new, String::new());
            }
            run.1.push(letter);
        }
        line.push_str(&paint::tone(run.0, &run.1, style));
        out.push(format!("{line}|"));
    }
    out.push(rule);
    out.push(format!(
        "{pad}front of the machine, where the operator stands"
    ));
    out.extend(
        legend(picture, style)
            .into_iter()
            .map(|l| format!("{pad}{l}")),
    );
    out.extend(
        cutter(picture, columns)
            .into_iter()
            .map(|l| format!("{pad}{l}")),
    );
    if style.plain && style.depth == Depth::None {
        out.extend(told(picture));
    }
    out
}

/// The unit of the values: millimetres, or thousandths of an inch.
fn unit(picture: &Picture) -> Unit {
    match picture.show.system {
        UnitSystem::Mm => UnitSystem::Mm.length(),
        UnitSystem::Inch => Unit::find("thou").unwrap_or_else(|| UnitSystem::Inch.length()),
    }
}

fn value(picture: &Picture, depth: Length) -> String {
    let unit = unit(picture);
    let text = picture
        .show
        .in_unit(picture.show.rounded(depth).into(), &unit);
    text.trim_end_matches(unit.symbol.as_ref())
        .trim_end()
        .to_owned()
}

/// Letters that stand over the cells: a + at each touch, its name and value beside it where they fit.
fn labels(picture: &Picture, map: &Map) -> Vec<Option<char>> {
    let land = &picture.land;
    let mut over = vec![None; map.cells.len()];
    let size = land.size();
    #[allow(clippy::cast_precision_loss)]
    let cell = |v: Length, k: usize, count: usize| {
        let share = if size[k] > 0.0 {
            (v.mm() - land.low[k].mm()) / size[k]
        } else {
            0.0
        };
        whole((share * count as f64 - 0.5).max(0.0), 0, count - 1)
    };
    let at: Vec<(usize, usize)> = land
        .spots
        .iter()
        .map(|s| (cell(s.x, 0, map.columns), cell(s.y, 1, map.rows)))
        .collect();
    for (column, row) in &at {
        over[row * map.columns + column] = Some('+');
    }
    for (spot, (column, row)) in land.spots.iter().zip(&at) {
        let depth = spot.height.minus(picture.plane).unwrap_or_default();
        let named = format!("{} {}", spot.point, value(picture, depth));
        for text in [named.as_str(), spot.point.as_str()] {
            let long = text.chars().count();
            // To the right of the mark, or to its left at the right edge; one cell stays free on either side.
            let starts = [Some(column + 1), column.checked_sub(long)];
            let base = row * map.columns;
            let fits = |start: usize| {
                let free =
                    |c: usize| c == *column || over.get(base + c).copied().flatten().is_none();
                start + long <= map.columns
                    && (start.saturating_sub(1)..(start + long + 1).min(map.columns)).all(free)
            };
            if let Some(start) = starts.into_iter().flatten().find(|s| fits(*s)) {
                for (slot, c) in over.iter_mut().skip(base + start).zip(text.chars()) {
                    *slot = Some(if c.is_control() { '?' } else { c });
                }
                // A blank parts the value from the marks of the cells.
                let after = if start > *column {
                    Some(start + long)
                } else {
                    start.checked_sub(1)
                };
                if let Some(free) = after.filter(|c| *c < map.columns)
                    && let Some(slot @ None) = over.get_mut(base + free)
                {
                    *slot = Some(' ');
                }
                break;
            }
        }
    }
    over
}

fn legend(picture: &Picture, style: &Style) -> Vec<String> {
    let meaning = |class| match class {
        Class::Cleans => format!(
            "cleans: 3 times its scatter or more above the plane, {} from a touch",
            picture.show.down(picture.land.clean_within())
        ),
        Class::Likely => "likely".to_owned(),
        Class::NotKnown => "not known".to_owned(),
        Class::Stays => "stays: old skin is left".to_owned(),
    };
    let mark = |c: Class| {
        format!(
            "{} {}",
            paint::tone(tone(c), &letter(c).to_string(), style),
            meaning(c)
        )
    };
    let [a, b, c, d] = Class::ALL.map(mark);
    let mut out = vec![
        a,
        format!("{b}   {c}   {d}"),
        format!(
            "+ touched: its name, what the plane takes off in {};",
            unit(picture).symbol
        ),
        "  below 0 it lies that much under it, and stays".to_owned(),
    ];
    out.extend(left_out(&picture.land));
    out
}

/// The cutter to the scale of the map.
#[allow(clippy::cast_precision_loss)]
fn cutter(picture: &Picture, columns: usize) -> Vec<String> {
    let Some(diameter) = picture.cutter.filter(|d| *d > Length::ZERO) else {
        return Vec::new();
    };
    let wide = picture.land.size()[0] / columns as f64;
    let across = diameter.mm() / wide;
    let (n, m) = (
        whole(across.ceil(), 1, 76),
        whole((across / HIGH).ceil(), 1, 40),
    );
    let inside = |row: usize, column: usize| {
        let x = (column as f64 + 0.5) - n as f64 / 2.0;
        let y = ((row as f64 + 0.5) - m as f64 / 2.0) * HIGH;
        x.hypot(y) <= (across / 2.0).max(0.5)
    };
    let mut out: Vec<String> = (0..m)
        .map(|row| {
            (0..n)
                .map(|c| if inside(row, c) { 'o' } else { ' ' })
                .collect::<String>()
        })
        .filter(|line: &String| line.contains('o'))
        .collect();
    if out.is_empty() {
        out.push("o".to_owned());
    }
    let middle = out.len() / 2;
    if let Some(line) = out.get_mut(middle) {
        let text = picture.show.near(diameter);
        line.push_str(&format!("  cutter, {text}, to the same scale"));
    }
    out
}

/// The map in words: the worst of each ninth, for whoever listens.
fn told(picture: &Picture) -> Vec<String> {
    let Ok(map) = picture.land.map(picture.plane, 30, 30) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    for (part, row) in PARTS.iter().zip(0..) {
        for (side, column) in SIDES.iter().zip(0..) {
            let here = map
                .cells
                .iter()
                .enumerate()
                .filter(|(i, _)| i / 300 == row && i % 30 / 10 == column);
            if let Some(worst) = here.map(|(_, c)| c.class).max() {
                let place = if part == side {
                    (*part).to_owned()
                } else {
                    format!("{part} {side}")
                };
                out.push(format!("{place}: {} at worst", worst.word()));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests;
