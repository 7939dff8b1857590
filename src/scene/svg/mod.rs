//! A scene as SVG: no script, no font, nothing fetched. It prints in black and white.
//!
//! One unit is one millimetre of the plate. Y of the drawing is the back of the sight less the scene's Y.
//!
//! Source of the format: W3C, Scalable Vector Graphics (SVG) 1.1, from memory.

mod labels;
mod path;
mod points;

use super::marks::{Ink, Mark, Pattern, Shape};
use super::{Rect, Scene, words};
use maud::{Markup, html};

/// Letters along the longer side: readable on a phone, where the drawing is a hand wide.
const LETTERS: f64 = 24.0;
/// Width of a letter over its height, a little more than the mean.
const NARROW: f64 = 0.56;
/// Room around the sight, in letters.
const MARGIN: f64 = 3.0;
const INK: &str = "#111";

/// A number to a thousandth, without trailing noughts.
fn n(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}

/// Turns the scene's coordinates into those of the drawing.
struct Pen<'a> {
    scene: &'a Scene,
    /// Height of a letter.
    letter: f64,
    /// What names of patterns begin with: several drawings may stand in one file.
    id: &'a str,
}

/// The drawing. `id` begins every name in it and must be its own within the file; `alone` where nothing beside it says what
/// its marks mean: title, legend and notes are then in the drawing.
pub(crate) fn svg(scene: &Scene, id: &str, alone: bool) -> Markup {
    let pen = Pen::new(scene, id);
    let [wide, high] = scene.sight.size();
    let margin = MARGIN * pen.letter;
    let full = [wide + 2.0 * margin, high + 2.0 * margin];
    let below = if alone {
        pen.below(full[0])
    } else {
        Vec::new()
    };
    let step = 1.45 * pen.letter;
    #[allow(clippy::cast_precision_loss)]
    let tall = full[1] + step * below.len() as f64;
    let (title, desc) = (format!("{id}-title"), format!("{id}-desc"));
    html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby={(title) " " (desc)} width="100%"
            viewBox={(n(-margin)) " " (n(-margin)) " " (n(full[0])) " " (n(tall))}
            font-family="sans-serif" font-size=(n(pen.letter)) fill=(INK) {
            title id=(title) { (scene.title) }
            desc id=(desc) { (words::lines(scene).join(" ")) }
            (pen.patterns())
            rect x=(n(-margin)) y=(n(-margin)) width=(n(full[0])) height=(n(tall)) fill="#fff" {}
            (pen.ground())
            @for part in &scene.left { (pen.area(part, Pattern::Cross)) }
            (pen.outline())
            (pen.path())
            @for obstacle in &scene.obstacles {
                circle cx=(n(pen.x(obstacle.at[0]))) cy=(n(pen.y(obstacle.at[1]))) r=(n(obstacle.radius)) fill="#9e9e9e"
                    stroke=(INK) stroke-width=(n(pen.letter * 0.15)) {}
            }
            (pen.marks_and_labels())
            (pen.sides())
            @for (row, line) in (1_u32..).zip(&below) {
                g transform={"translate(" (n(-margin + pen.letter)) " " (n(full[1] - margin + step * (f64::from(row) - 1.0))) ")"} {
                    (line)
                }
            }
        }
    }
}

/// An entry of the legend.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Entry {
    mark: Mark,
    level: usize,
    /// What it means.
    pub text: String,
}

/// The legend of a drawing: the scene's, with an entry for each level of the feed, since each has its own dashes.
pub(crate) fn legend(scene: &Scene) -> Vec<Entry> {
    let mut out = Vec::new();
    for (mark, text) in scene.legend(&scene.marks()) {
        if mark == Mark::Feed && !scene.levels.is_empty() {
            out.extend(scene.levels.iter().enumerate().map(|(level, z)| Entry {
                mark,
                level,
                text: format!("{}: {z}", mark.word()),
            }));
        } else {
            out.push(Entry {
                mark,
                level: 0,
                text,
            });
        }
    }
    out
}

/// The sign of an entry for a legend beside the drawing of that `id`, a small drawing of its own.
pub(crate) fn swatch(scene: &Scene, id: &str, entry: &Entry) -> Markup {
    let pen = Pen::new(scene, id);
    let [wide, high] = [2.6, 1.3].map(|v| n(v * pen.letter));
    html! {
        svg class="swatch" aria-hidden="true" viewBox={"0 0 " (wide) " " (high)} font-family="sans-serif" font-size=(n(pen.letter)) fill=(INK) {
            (pen.sample(entry))
        }
    }
}

impl<'a> Pen<'a> {
    fn new(scene: &'a Scene, id: &'a str) -> Self {
        let [wide, high] = scene.sight.size();
        Self {
            scene,
            letter: wide.max(high) / LETTERS,
            id,
        }
    }

    fn x(&self, x: f64) -> f64 {
        x - self.scene.sight.low[0]
    }

    fn y(&self, y: f64) -> f64 {
        self.scene.sight.high[1] - y
    }

    fn point(&self, at: [f64; 2]) -> String {
        format!("{},{}", n(self.x(at[0])), n(self.y(at[1])))
    }

    fn fill(&self, pattern: Pattern) -> String {
        match pattern {
            Pattern::White => "#fff".to_owned(),
            Pattern::Dots => format!("url(#{}-dots)", self.id),
            Pattern::Bars => format!("url(#{}-bars)", self.id),
            Pattern::Cross => format!("url(#{}-cross)", self.id),
            Pattern::Grey(level) => {
                let grey = 60 + 20 * u32::from(level.min(9));
                format!("#{grey:02x}{grey:02x}{grey:02x}")
            }
        }
    }

    fn patterns(&self) -> Markup {
        let side = n(self.letter * 0.6);
        let [half, dot, line] = [0.3, 0.1, 0.09].map(|share| n(self.letter * share));
        let tile = |name: &str, turned: bool, inner: Markup| {
            html! {
                pattern id={(self.id) "-" (name)} width=(side) height=(side) patternUnits="userSpaceOnUse"
                    patternTransform=[turned.then_some("rotate(45)")] {
                    rect width=(side) height=(side) fill="#fff" {}
                    (inner)
                }
            }
        };
        let crossed = format!("M0 0L{side} {side}M{side} 0L0 {side}");
        html! {
            defs {
                (tile("dots", false, html! { circle cx=(half) cy=(half) r=(dot) fill="#777" {} }))
                (tile("bars", true, html! { rect width=(line) height=(side) fill="#555" {} }))
                (tile("cross", false, html! { path d=(crossed) stroke=(INK) stroke-width=(line) {} }))
            }
        }
    }

    fn area(&self, part: &Rect, pattern: Pattern) -> Markup {
        let [wide, high] = part.size();
        html! {
            rect x=(n(self.x(part.low[0]))) y=(n(self.y(part.high[1]))) width=(n(wide)) height=(n(high))
                fill=(self.fill(pattern)) {}
        }
    }

    /// Cells of one row that are alike become one rectangle; white ones are the paper.
    fn ground(&self) -> Markup {
        let Some(ground) = self.scene.ground.as_ref().filter(|g| g.rows() > 0) else {
            return html! {};
        };
        let plate = &self.scene.plate;
        let [wide, high] = plate.size();
        #[allow(clippy::cast_precision_loss)]
        let at = |column: usize, row: usize| {
            [
                plate.low[0] + wide * column as f64 / ground.columns as f64,
                plate.low[1] + high * row as f64 / ground.rows() as f64,
            ]
        };
        let mut parts: Vec<(Rect, Pattern)> = Vec::new();
        for row in 0..ground.rows() {
            let mut from = 0;
            while let Some(mark) = ground.at(from, row) {
                let mut to = from + 1;
                while ground.at(to, row) == Some(mark) {
                    to += 1;
                }
                if let Ink::Area(pattern) = mark.sign().ink
                    && pattern != Pattern::White
                {
                    parts.push((Rect::between(at(from, row), at(to, row + 1)), pattern));
                }
                from = to;
            }
        }
        html! { @for (part, pattern) in &parts { (self.area(part, *pattern)) } }
    }

    fn outline(&self) -> Markup {
        let [wide, high] = self.scene.plate.size();
        html! {
            rect x=(n(self.x(self.scene.plate.low[0]))) y=(n(self.y(self.scene.plate.high[1]))) width=(n(wide))
                height=(n(high)) fill="none" stroke=(INK) stroke-width=(n(self.letter * 0.2)) {}
        }
    }

    /// A mark as it looks, in a box two and a half letters wide and one and a quarter high.
    fn sample(&self, &Entry { mark, level, .. }: &Entry) -> Markup {
        let l = self.letter;
        match mark.sign().ink {
            Ink::Area(pattern) => html! {
                rect x=(n(0.1 * l)) y=(n(0.1 * l)) width=(n(2.3 * l)) height=(n(1.1 * l)) fill=(self.fill(pattern))
                    stroke=(INK) stroke-width=(n(0.08 * l)) {}
            },
            Ink::Line(..) => {
                let y = n(0.65 * l);
                self.line(mark, level, &format!("0,{y} {},{y}", n(2.5 * l)))
            }
            Ink::Point(Shape::Letter) => html! {
                text x=(n(1.25 * l)) y=(n(l)) text-anchor="middle" font-weight="bold" { (mark.sign().ascii) }
            },
            Ink::Point(_) => self.shape(mark, [1.25 * l, 0.65 * l]),
        }
    }

    /// Title, legend and notes as lines for below the drawing.
    fn below(&self, wide: f64) -> Vec<Markup> {
        let l = self.letter;
        let line = |x: f64, text: &str, bold: bool| {
            let weight = bold.then_some("bold");
            html! { text x=(n(x)) y="0" font-weight=[weight] { (text) } }
        };
        let room = |indent: f64| wide - 2.0 * l - indent;
        let mut out = vec![html! {}];
        for text in wrapped(&self.scene.title, room(0.0), l) {
            out.push(line(0.0, &text, true));
        }
        for entry in legend(self.scene) {
            for (row, text) in wrapped(&entry.text, room(3.2 * l), l).iter().enumerate() {
                out.push(html! {
                    @if row == 0 { g transform={"translate(0 " (n(-0.95 * l)) ")"} { (self.sample(&entry)) } }
                    (line(3.2 * l, text, false))
                });
            }
        }
        for note in &self.scene.notes {
            for text in wrapped(note, room(0.0), l) {
                out.push(line(0.0, &text, false));
            }
        }
        out
    }
}

/// Breaks a text so that it fits `wide`.
fn wrapped(text: &str, wide: f64, letter: f64) -> Vec<String> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = (wide / (NARROW * letter)).clamp(12.0, 500.0) as usize;
    let mut out: Vec<String> = vec![String::new()];
    for word in text.split_whitespace() {
        match out.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}
