//! A scene drawn with characters, painted, with its legend, within the window; in words where the page is narrated.

use super::paint;
use super::style::Style;
use super::words::{clean, width, wrap, wrap_hanging};
use crate::report::page::Tone;
use crate::scene::marks::Stroke;
use crate::scene::raster::{Cell, Raster, raster};
use crate::scene::{Mark, Scene, words};

/// Lines of a window that are left to what stands about the drawing: a title, the status and the prompt below.
const LEFT: usize = 5;
/// Lines of a drawing where nobody knows how high the window is.
const USUAL: usize = 30;
/// Fewest and most rows of characters.
const ROWS: [usize; 2] = [6, 60];
/// Parts two entries of a legend.
const APART: &str = "   ";

/// What a mark means to the reader.
fn tone(mark: Mark) -> Tone {
    match mark {
        Mark::Clean => Tone::Good,
        Mark::Unknown | Mark::RapidUnknown => Tone::Look,
        Mark::Stays | Mark::Plunge | Mark::RapidLow => Tone::Stop,
        Mark::Rapid | Mark::FeedOff => Tone::Quiet,
        Mark::Start | Mark::End | Mark::FirstCut | Mark::LastLift | Mark::Finding(_) => {
            Tone::Action
        }
        Mark::Touch | Mark::Obstacle | Mark::Cutter => Tone::Strong,
        Mark::Edge | Mark::Relief(_) | Mark::Likely | Mark::Feed => Tone::Plain,
    }
}

/// The lines of the drawing and its legend, indentation included; the same in words where the page is narrated or there is no
/// room to draw.
pub(crate) fn lines(scene: &Scene, indent: usize, style: &Style) -> Vec<String> {
    let pad = " ".repeat(indent);
    let room = style.width.saturating_sub(indent);
    let drawn = if style.plain {
        None
    } else {
        fitted(scene, room, style)
    };
    let out = drawn.unwrap_or_else(|| {
        let all = words::lines(scene);
        all.iter().flat_map(|l| wrap(l, room, style)).collect()
    });
    out.into_iter().map(|l| format!("{pad}{l}")).collect()
}

/// Drawn once to see which marks there are, and again in the rows that their legend leaves.
fn fitted(scene: &Scene, room: usize, style: &Style) -> Option<Vec<String>> {
    let window = style.height.map_or(USUAL, |h| h.saturating_sub(LEFT));
    let whole = scene.most_lines.map_or(window, |most| most.min(window));
    let rows = |legend: usize| whole.saturating_sub(legend + 2).clamp(ROWS[0], ROWS[1]);
    let first = raster(scene, room, rows(5))?;
    let legend = legend(scene, &first, room, style);
    let drawn = raster(scene, room, rows(legend.len()))?;
    let legend = self::legend(scene, &drawn, room, style);
    let axes = |side: &str, corner: usize, word: &str| {
        let corner = scene.axes.corners.as_ref().and_then(|c| c.get(corner));
        let text = match corner {
            Some(corner) => format!("{side}; the plate {word} {corner}"),
            None => side.to_owned(),
        };
        wrap(&text, room, style)
    };
    let mut out = axes(scene.axes.back, 1, "ends at");
    out.extend(drawn.rows.iter().map(|row| line(row, style)));
    out.extend(axes(scene.axes.front, 0, "begins at"));
    out.extend(legend);
    Some(out)
}

/// One line, runs of one tone painted together.
fn line(row: &[Cell], style: &Style) -> String {
    let look = |cell: &Cell| match (cell.letter, cell.mark) {
        (Some(letter), _) => (Tone::Strong, letter),
        (None, Some(mark)) => (tone(mark), cell.stroke.glyph(mark, style.unicode)),
        (None, None) => (Tone::Plain, ' '),
    };
    let all: Vec<(Tone, char)> = row.iter().map(look).collect();
    all.chunk_by(|a, b| a.0 == b.0)
        .map(|run| {
            let text: String = run.iter().map(|c| c.1).collect();
            paint::tone(run.first().map_or(Tone::Plain, |c| c.0), &text, style)
        })
        .collect()
}

/// What the marks mean: short entries share lines, long ones hang.
fn legend(scene: &Scene, drawn: &Raster, room: usize, style: &Style) -> Vec<String> {
    let (mut out, mut long): (Vec<String>, Vec<String>) = Default::default();
    for (mark, text) in scene.legend(&drawn.marks()) {
        let glyph = Stroke::default().glyph(mark, style.unicode);
        // The letters of findings stand in their text.
        let entry = match mark {
            Mark::Finding(_) => text,
            _ => format!("{glyph} {text}"),
        };
        let entry = clean(&entry, style.unicode);
        if width(&entry) > room / 2 {
            long.extend(wrap_hanging(&entry, room, "  ", style));
            continue;
        }
        match out.last_mut() {
            Some(line) if width(line) + APART.len() + width(&entry) <= room => {
                line.push_str(APART);
                line.push_str(&entry);
            }
            _ => out.push(entry),
        }
    }
    out.append(&mut long);
    if let Some(cutter) = &scene.cutter {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a few characters
        let wide = (cutter.diameter / drawn.wide).round().clamp(1.0, 20.0) as usize;
        let glyph = Mark::Cutter.sign().ascii.to_string();
        let text = format!(
            "{} {}: {}",
            glyph.repeat(wide),
            Mark::Cutter.word(),
            cutter.words
        );
        out.extend(wrap(&text, room, style));
    }
    for note in &scene.notes {
        out.extend(wrap(note, room, style));
    }
    out
}

#[cfg(test)]
mod tests;
