//! A program seen from above, drawn with characters: twice as high as wide each, X to the right and Y up.
//!
//! One character stands for everything under it, and the worse news wins: a place that is not reached shows wherever any
//! of it falls into a cell, over the path and over what is reached. Narrated, nothing is drawn: a picture of characters
//! read aloud tells nothing, and the words beside it say what it shows.

use super::paint;
use super::style::Style;
use super::words::wrap;
use crate::program::coverage::Frame;
use crate::program::picture::Picture;
use crate::report::page::Tone;

/// Most lines that a drawing takes.
const MOST_LINES: usize = 32;

/// What a cell shows; the later one wins.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Mark {
    Outside,
    Plate,
    Rapid,
    Across,
    Upright,
    Rising,
    Falling,
    Crossing,
    Missed,
    Start,
    End,
    Both,
}

impl Mark {
    fn sign(self, judged: bool, style: &Style) -> char {
        match (self, style.unicode) {
            (Self::Outside, _) => ' ',
            (Self::Plate, true) => '·',
            (Self::Plate, false) if judged => '.',
            (Self::Plate, false) => ',',
            (Self::Rapid, _) => ':',
            (Self::Across, true) => '─',
            (Self::Across, false) => '-',
            (Self::Upright, true) => '│',
            (Self::Upright, false) => '|',
            (Self::Rising, _) => '/',
            (Self::Falling, _) => '\\',
            (Self::Crossing, true) => '┼',
            (Self::Crossing, false) => '+',
            (Self::Missed, true) => '▓',
            (Self::Missed, false) => '#',
            (Self::Start, _) => 'S',
            (Self::End, _) => 'E',
            (Self::Both, _) => '@',
        }
    }

    fn tone(self) -> Tone {
        match self {
            Self::Plate | Self::Rapid => Tone::Quiet,
            Self::Missed => Tone::Stop,
            Self::Start | Self::End | Self::Both => Tone::Action,
            _ => Tone::Plain,
        }
    }

    fn cut(self) -> bool {
        (Self::Across..=Self::Crossing).contains(&self)
    }

    fn means(self, judged: bool) -> &'static str {
        match self {
            Self::Outside => "",
            Self::Plate if judged => "plate, reached",
            Self::Plate => "plate",
            Self::Rapid => "rapid",
            Self::Missed => "NOT REACHED",
            Self::Start => "start",
            Self::End => "end",
            Self::Both => "start and end",
            _ => "feed",
        }
    }
}

/// Cells over what is in sight.
struct Grid {
    sight: Frame,
    /// Width of a cell, mm; it is twice as high.
    cell: f64,
    columns: usize,
    cells: Vec<Vec<Mark>>,
}

impl Grid {
    fn over(sight: Frame, columns: usize) -> Option<Self> {
        let [wide, high] = sight.size();
        if !sight.is_sound() || columns < 8 {
            return None;
        }
        #[allow(clippy::cast_precision_loss)]
        let cell = (wide / columns as f64).max(high / (2.0 * MOST_LINES as f64));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let count = |long: f64| (long - 1e-9).ceil().clamp(1.0, 1000.0) as usize;
        let (columns, lines) = (count(wide / cell), count(high / (2.0 * cell)));
        Some(Self {
            sight,
            cell,
            columns,
            cells: vec![vec![Mark::Outside; columns]; lines],
        })
    }

    /// The column and the line, from the top, of a place; outside the grid as far as it is outside.
    fn cell_of(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            ((x - self.sight.low[0]) / self.cell).floor(),
            ((self.sight.high[1] - y) / (2.0 * self.cell)).floor(),
        ]
    }

    fn put(&mut self, [column, line]: [f64; 2], mark: Mark) {
        if column < 0.0 || line < 0.0 {
            return;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (column, line) = (column as usize, line as usize);
        if let Some(cell) = self.cells.get_mut(line).and_then(|l| l.get_mut(column)) {
            *cell = match (*cell, mark) {
                (Mark::Start, Mark::End) => Mark::Both,
                (old, new) if old.cut() && new.cut() && old != new => Mark::Crossing,
                (old, new) => old.max(new),
            };
        }
    }

    /// A rectangle: every cell that it falls into, however little of it.
    fn fill(&mut self, area: &Frame, mark: Mark) {
        let hair = self.cell * 1e-6;
        let from = self.cell_of([area.low[0] + hair, area.high[1] - hair]);
        let upto = self.cell_of([area.high[0] - hair, area.low[1] + hair]);
        #[allow(clippy::cast_precision_loss)]
        let ends = [self.columns as f64, self.cells.len() as f64];
        let mut line = from[1].max(0.0);
        while line <= upto[1].max(from[1]).min(ends[1]) {
            let mut column = from[0].max(0.0);
            while column <= upto[0].max(from[0]).min(ends[0]) {
                self.put([column, line], mark);
                column += 1.0;
            }
            line += 1.0;
        }
    }

    fn trace(&mut self, a: [f64; 2], b: [f64; 2], rapid: bool) {
        let [dx, dy] = [(b[0] - a[0]) / self.cell, (b[1] - a[1]) / (2.0 * self.cell)];
        let mark = if rapid {
            Mark::Rapid
        } else if dy.abs() < 0.5 * dx.abs() {
            Mark::Across
        } else if dx.abs() < 0.5 * dy.abs() {
            Mark::Upright
        } else if (dx > 0.0) == (dy > 0.0) {
            Mark::Rising
        } else {
            Mark::Falling
        };
        let steps = (2.0 * dx.abs().max(dy.abs())).ceil().clamp(1.0, 4000.0);
        let mut n = 0.0;
        while n <= steps {
            let t = n / steps;
            self.put(
                self.cell_of([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]),
                mark,
            );
            n += 1.0;
        }
    }
}

/// The lines of a drawing and of its key; nothing when narrated, or where the screen is too narrow.
pub fn lines(picture: &Picture, indent: usize, style: &Style) -> Vec<String> {
    if style.plain {
        return Vec::new();
    }
    let Some(mut grid) = Grid::over(picture.sight(), style.width.saturating_sub(indent)) else {
        return Vec::new();
    };
    let plate = picture.plate.mm();
    grid.fill(&plate, Mark::Plate);
    for trace in &picture.traces {
        for pair in trace.spots.windows(2) {
            if let [a, b] = pair {
                grid.trace(a.mm(), b.mm(), trace.rapid);
            }
        }
    }
    for area in &picture.missed {
        grid.fill(&area.mm(), Mark::Missed);
    }
    for (spot, mark) in [(picture.start(), Mark::Start), (picture.end(), Mark::End)] {
        if let Some(spot) = spot {
            grid.put(grid.cell_of(spot.mm()), mark);
        }
    }
    let pad = " ".repeat(indent);
    let mut out: Vec<String> = grid
        .cells
        .iter()
        .map(|line| format!("{pad}{}", drawn(line, picture, style)))
        .collect();
    let key = key(&grid, picture, style);
    out.extend(
        wrap(&key, style.width.saturating_sub(indent), style)
            .into_iter()
            .map(|l| format!("{pad}{l}")),
    );
    out
}

/// One line, runs of one tone painted together.
fn drawn(line: &[Mark], picture: &Picture, style: &Style) -> String {
    line.chunk_by(|a, b| a.tone() == b.tone())
        .map(|run| {
            let text: String = run.iter().map(|m| m.sign(picture.judged, style)).collect();
            let tone = run.first().map_or(Tone::Plain, |m| m.tone());
            paint::tone(tone, &text, style)
        })
        .collect()
}

/// What the signs in it mean, and where it lies.
fn key(grid: &Grid, picture: &Picture, style: &Style) -> String {
    let mut seen: Vec<Mark> = Vec::new();
    for mark in grid.cells.iter().flatten() {
        let alike = |m: &Mark| m == mark || (m.cut() && mark.cut());
        if *mark != Mark::Outside && !seen.iter().any(alike) {
            seen.push(*mark);
        }
    }
    seen.sort_unstable();
    let signs = seen.iter().rev().map(|m| {
        let sign = if m.cut() { Mark::Across } else { *m };
        format!(
            "{} {}",
            sign.sign(picture.judged, style),
            m.means(picture.judged)
        )
    });
    let [low, high] = [picture.plate.low.mm(), picture.plate.high.mm()];
    let place = format!(
        "Plate X {} to {}, Y {} to {} mm, Y up",
        low[0], high[0], low[1], high[1]
    );
    format!("{}. {place}", signs.collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::lines;
    use crate::program::coverage::{Cover, Frame, Task};
    use crate::program::picture::{PathRecorder, Picture};
    use crate::screen::style::{Depth, Style};

    /// Invented: rows along X with one left out, a start in the air and a rapid home.
    fn picture(missing: Option<u32>) -> Picture {
        let plate = Frame::between([30.0, 30.0], [270.0, 150.0]);
        let mut cover = Cover::new(Task {
            plate,
            flat: 5.8,
            depth: 0.01,
        })
        .unwrap();
        let mut recorder = PathRecorder::over(&plate);
        let mut at = [0.0, 0.0];
        for n in (0..12).filter(|n| Some(*n) != missing) {
            let y = 35.0 + 10.0 * f64::from(n);
            let (a, b) = if n % 2 == 0 {
                (20.0, 280.0)
            } else {
                (280.0, 20.0)
            };
            for to in [[a, y], [b, y]] {
                recorder.straight(at, to, false);
                cover.straight([at[0], at[1], 0.0], [to[0], to[1], 0.0], 0.0, n);
                at = to;
            }
        }
        recorder.straight(at, [0.0, 0.0], true);
        Picture::new(&plate, recorder.finish(), Some(&cover.finish()))
    }

    fn style(unicode: bool, columns: u16) -> Style {
        Style {
            plain: false,
            unicode,
            ..Style::plain(columns)
        }
    }

    #[test]
    fn a_row_left_out_shows_without_colour() {
        insta::assert_snapshot!(lines(&picture(Some(6)), 2, &style(false, 64)).join("\n"));
        insta::assert_snapshot!(lines(&picture(Some(6)), 2, &style(true, 80)).join("\n"));
    }

    #[test]
    fn reached_everywhere_nothing_is_marked() {
        let drawn = lines(&picture(None), 2, &style(false, 80)).join("\n");
        assert!(
            !drawn.contains('#') && !drawn.contains("NOT REACHED"),
            "{drawn}"
        );
        assert!(
            drawn.contains("@ start and end") && drawn.contains("- feed"),
            "{drawn}"
        );
    }

    #[test]
    fn narrated_or_too_narrow_nothing_is_drawn() {
        assert!(lines(&picture(None), 0, &Style::plain(80)).is_empty());
        let narrow = Style {
            width: 7,
            ..style(false, 80)
        };
        assert!(lines(&picture(None), 0, &narrow).is_empty());
    }

    #[test]
    fn no_line_is_wider_than_the_screen_and_colour_adds_no_sign() {
        for columns in [20, 40, 80, 100] {
            let bare = lines(&picture(Some(3)), 2, &style(true, columns));
            assert!(
                bare.iter()
                    .all(|l| l.chars().count() <= usize::from(columns))
            );
            let colour = Style {
                depth: Depth::Many,
                ..style(true, columns)
            };
            let painted = lines(&picture(Some(3)), 2, &colour).join("\n");
            assert_eq!(console::strip_ansi_codes(&painted), bare.join("\n"));
        }
    }
}
