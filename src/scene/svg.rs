//! A scene as SVG: no script, no font, nothing fetched. It prints in black and white.
//!
//! One unit is one millimetre of the plate. Y of the drawing is the back of the sight less the scene's Y.
//!
//! Source of the format: W3C, Scalable Vector Graphics (SVG) 1.1, from memory.

use super::labels::{Labels, Wanted};
use super::marks::{Ink, Mark, Pattern, Shape};
use super::{Rect, Scene, Trace, one_place, words};
use maud::{Markup, html};

/// Letters along the longer side: readable on a phone, where the drawing is a hand wide.
const LETTERS: f64 = 24.0;
/// Width of a letter over its height, a little more than the mean.
pub(super) const NARROW: f64 = 0.56;
/// Room around the sight, in letters.
const MARGIN: f64 = 3.0;
/// Most arrows on a path.
const ARROWS: usize = 60;
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
pub fn svg(scene: &Scene, id: &str, alone: bool) -> Markup {
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
pub struct Entry {
    mark: Mark,
    level: usize,
    /// What it means.
    pub text: String,
}

/// The legend of a drawing: the scene's, with an entry for each level of the feed, since each has its own dashes.
pub fn legend(scene: &Scene) -> Vec<Entry> {
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
pub fn swatch(scene: &Scene, id: &str, entry: &Entry) -> Markup {
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

    /// Colour, width and dashes of a line; levels of the feed above the lowest are dashed, the higher the shorter.
    fn stroke(&self, mark: Mark, level: usize) -> [String; 3] {
        let Ink::Line(colour, wide, dashes) = mark.sign().ink else {
            return ["none".to_owned(), String::new(), String::new()];
        };
        let dashes: &[u8] = match (mark, level) {
            (Mark::Feed, 1) => &[7, 2],
            (Mark::Feed, 2) => &[4, 2],
            (Mark::Feed, 3..) => &[2, 2],
            _ => dashes,
        };
        let dashes: Vec<String> = dashes
            .iter()
            .map(|d| n(f64::from(*d) * 0.1 * self.letter))
            .collect();
        [
            colour.to_owned(),
            n(f64::from(wide) * 0.1 * self.letter),
            dashes.join(" "),
        ]
    }

    fn line(&self, mark: Mark, level: usize, points: &str) -> Markup {
        let [colour, wide, dashes] = self.stroke(mark, level);
        let dashes = (!dashes.is_empty()).then_some(dashes);
        html! {
            polyline points=(points) fill="none" stroke=(colour) stroke-width=(wide) stroke-dasharray=[dashes] {}
        }
    }

    /// The path within the sight, danger on top.
    fn path(&self) -> Markup {
        let mut traces: Vec<&Trace> = self.scene.path.iter().collect();
        traces.sort_by_key(|t| t.mark);
        let [wide, high] = self.scene.sight.size();
        // A line along the border keeps its whole width.
        let edge = 0.4 * self.letter;
        let [x, w, h] = [-edge, wide + 2.0 * edge, high + 2.0 * edge].map(n);
        html! {
            @if !traces.is_empty() {
                svg x=(x) y=(x) width=(w) height=(h) viewBox={(x) " " (x) " " (w) " " (h)} {
                    @for trace in traces {
                        @let points: Vec<String> = trace.points.iter().map(|p| self.point(*p)).collect();
                        (self.line(trace.mark, trace.level, &points.join(" ")))
                    }
                    (self.arrows())
                }
            }
        }
    }

    /// Which way the cutter goes: on long pieces, no more than so many.
    fn arrows(&self) -> Markup {
        let long = 6.0 * self.letter;
        let all: Vec<(Mark, [f64; 2], f64)> = self
            .scene
            .path
            .iter()
            .flat_map(|t| t.points.windows(2).map(move |w| (t.mark, w)))
            .filter_map(|(mark, w)| {
                let &[a, b] = w else { return None };
                let [from, to] = self.scene.sight.clip(a, b)?;
                let [dx, dy] = [b[0] - a[0], b[1] - a[1]];
                if (to - from) * dx.hypot(dy) < long {
                    return None;
                }
                // Off the middle, where labels often are.
                let t = from + 0.6 * (to - from);
                let turned = (-dy).atan2(dx).to_degrees();
                Some((mark, [a[0] + t * dx, a[1] + t * dy], turned))
            })
            .collect();
        let [back, side] = [0.5, 0.25].map(|v| v * self.letter);
        let shape = format!("M{} {}L0 0L{} {}", n(-back), n(-side), n(-back), n(side));
        let every = all.len().div_ceil(ARROWS).max(1);
        html! {
            @for (mark, at, turned) in all.iter().step_by(every) {
                @let [colour, ..] = self.stroke(*mark, 0);
                path d=(shape) fill="none" stroke=(colour) stroke-width=(n(self.letter * 0.1))
                    transform={"translate(" (n(self.x(at[0]))) " " (n(self.y(at[1]))) ") rotate(" (n(*turned)) ")"} {}
            }
        }
    }

    fn text(&self, [x, y]: [f64; 2], anchor: &str, text: &str) -> Markup {
        html! {
            text x=(n(x)) y=(n(y)) text-anchor=(anchor) paint-order="stroke" stroke="#fff" stroke-width=(n(self.letter * 0.3))
                stroke-linejoin="round" { (text) }
        }
    }

    /// The sign of a mark about a place of the drawing.
    fn shape(&self, mark: Mark, [x, y]: [f64; 2]) -> Markup {
        let l = self.letter;
        let Ink::Point(shape) = mark.sign().ink else {
            return html! {};
        };
        match shape {
            Shape::Dot => html! { circle cx=(n(x)) cy=(n(y)) r=(n(0.3 * l)) fill=(INK) {} },
            Shape::Ring => html! {
                circle cx=(n(x)) cy=(n(y)) r=(n(0.5 * l)) fill="none" stroke=(INK) stroke-width=(n(0.12 * l))
                    stroke-dasharray=(n(0.3 * l)) {}
            },
            Shape::Block => html! {
                circle cx=(n(x)) cy=(n(y)) r=(n(0.5 * l)) fill="#9e9e9e" stroke=(INK) stroke-width=(n(0.15 * l)) {}
            },
            Shape::Letter => html! {
                rect x=(n(x - 0.3 * l)) y=(n(y - 0.3 * l)) width=(n(0.6 * l)) height=(n(0.6 * l)) fill="#fff"
                    stroke=(INK) stroke-width=(n(0.15 * l)) {}
            },
            Shape::Alarm => html! {
                circle cx=(n(x)) cy=(n(y)) r=(n(0.6 * l)) fill=(INK) {}
                text x=(n(x)) y=(n(y + 0.32 * l)) text-anchor="middle" fill="#fff" font-weight="bold"
                    font-size=(n(0.9 * l)) { (mark.sign().ascii) }
            },
        }
    }

    /// Everything that stands at a place, with its words where they cover nothing.
    fn marks_and_labels(&self) -> Markup {
        let (l, margin) = (self.letter, MARGIN * self.letter);
        let [wide, high] = self.scene.sight.size();
        let all = [-margin, -margin, wide + margin, high + margin];
        let at = |p: [f64; 2]| [self.x(p[0]), self.y(p[1])];
        let plate = &self.scene.plate;
        let [[left, bottom], [right, top]] = [at(plate.low), at(plate.high)];
        let (touches, spots) = (&self.scene.touches, &self.scene.spots);
        let ring = self
            .scene
            .cutter
            .as_ref()
            .and_then(|c| Some((at(c.at?), c.diameter / 2.0)));
        let mut labels = Labels::new(l);
        for (place, anchor, text) in self.corners() {
            labels.take_text(place, anchor, text);
        }
        for place in touches
            .iter()
            .map(|t| t.at)
            .chain(spots.iter().map(|s| s.1))
        {
            labels.take(at(place), 0.4 * l);
        }
        if let Some((place, radius)) = ring {
            labels.take(place, radius);
        }
        let mut wanted: Vec<Wanted> = Vec::new();
        for (mark, place) in spots {
            let (place, letter) = (at(*place), mark.sign().ascii);
            // Marks of one place share a label; the alarms carry theirs in them.
            match wanted.iter_mut().find(|w| one_place(w.at, place)) {
                _ if mark.sign().ink != Ink::Point(Shape::Letter) => {}
                Some(w) => w.add(letter),
                None => wanted.push(Wanted {
                    at: place,
                    texts: vec![letter.to_string()],
                    must: true,
                    gap: match ring {
                        Some((middle, radius)) if one_place(middle, place) => {
                            radius.max(0.3 * l) + 0.3 * l
                        }
                        _ => 0.6 * l,
                    },
                    within: all,
                }),
            }
        }
        let letters = wanted.len();
        for t in touches {
            let whole = format!("{} {}", t.name, t.value).trim_end().to_owned();
            wanted.push(Wanted {
                at: at(t.at),
                texts: vec![whole, t.name.clone()],
                must: false,
                gap: 0.6 * l,
                within: [left, top, right, bottom],
            });
        }
        let mut placed: Vec<_> = wanted.iter().map(|w| labels.place(w)).collect();
        let names = placed.split_off(letters);
        html! {
            @if let Some(([x, y], radius)) = ring {
                circle cx=(n(x)) cy=(n(y)) r=(n(radius)) fill="none" stroke=(INK) stroke-width=(n(0.12 * l))
                    stroke-dasharray=(n(0.4 * l)) {}
            }
            @for (mark, place) in spots { (self.shape(*mark, at(*place))) }
            @for touch in touches { (self.shape(Mark::Touch, at(touch.at))) }
            g font-weight="bold" { @for label in placed.iter().flatten() { (self.text(label.at, label.anchor, &label.text)) } }
            @for label in names.iter().flatten() { (self.text(label.at, label.anchor, &label.text)) }
        }
    }

    /// The coordinates of the plate's corners, where they matter: where they stand, by which end, and what.
    fn corners(&self) -> Vec<([f64; 2], &'static str, &str)> {
        let (l, plate) = (self.letter, &self.scene.plate);
        let Some([low, high]) = &self.scene.axes.corners else {
            return Vec::new();
        };
        let [left, right] = [plate.low, plate.high].map(|p| [self.x(p[0]), self.y(p[1])]);
        vec![
            ([left[0], left[1] + 1.2 * l], "start", low),
            ([right[0], right[1] - 0.5 * l], "end", high),
        ]
    }

    /// What the sides are called, and the coordinates of the corners where they matter.
    fn sides(&self) -> Markup {
        let [wide, high] = self.scene.sight.size();
        let (l, axes) = (self.letter, &self.scene.axes);
        html! {
            (self.text([wide / 2.0, -1.8 * l], "middle", axes.back))
            (self.text([wide / 2.0, high + 2.6 * l], "middle", axes.front))
            @for (place, anchor, text) in self.corners() { (self.text(place, anchor, text)) }
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
