//! What stands at a place, with its words.

use super::super::marks::{Ink, Mark, Shape};
use super::super::one_place;
use super::labels::{Labels, Wanted};
use super::{INK, MARGIN, Pen, n};
use maud::{Markup, html};

impl Pen<'_> {
    pub(super) fn text(&self, [x, y]: [f64; 2], anchor: &str, text: &str) -> Markup {
        html! {
            text x=(n(x)) y=(n(y)) text-anchor=(anchor) paint-order="stroke" stroke="#fff" stroke-width=(n(self.letter * 0.3))
                stroke-linejoin="round" { (text) }
        }
    }

    /// The sign of a mark about a place of the drawing.
    pub(super) fn shape(&self, mark: Mark, [x, y]: [f64; 2]) -> Markup {
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
    pub(super) fn marks_and_labels(&self) -> Markup {
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
    pub(super) fn sides(&self) -> Markup {
        let [wide, high] = self.scene.sight.size();
        let (l, axes) = (self.letter, &self.scene.axes);
        html! {
            (self.text([wide / 2.0, -1.8 * l], "middle", axes.back))
            (self.text([wide / 2.0, high + 2.6 * l], "middle", axes.front))
            @for (place, anchor, text) in self.corners() { (self.text(place, anchor, text)) }
        }
    }
}
