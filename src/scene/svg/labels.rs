//! Words beside places of a drawing, so that they cover neither each other nor the places.

use super::NARROW;
use crate::scene::one_place;

/// Left, top, right, bottom.
pub(super) type Extent = [f64; 4];

/// A label that is wanted.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Wanted {
    /// The place it belongs to.
    pub at: [f64; 2],
    /// The text, and shorter ones where there is no room for it.
    pub texts: Vec<String>,
    /// Whether it must be there, whatever it covers.
    pub must: bool,
    /// How far from the place it stands.
    pub gap: f64,
    /// What it should stay within.
    pub within: Extent,
}

impl Wanted {
    /// Something else that is so at the same place.
    pub(super) fn add(&mut self, letter: char) {
        for text in &mut self.texts {
            text.push(' ');
            text.push(letter);
        }
    }
}

/// A label in its place.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Label {
    /// Where its baseline begins, is halved or ends, by `anchor`.
    pub at: [f64; 2],
    /// `start`, `middle` or `end`.
    pub anchor: &'static str,
    /// The text.
    pub text: String,
}

/// What of a drawing is taken.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Labels {
    letter: f64,
    taken: Vec<Extent>,
    places: Vec<[f64; 2]>,
}

fn meet(a: &Extent, b: &Extent) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// How far a place lies from an extent.
fn away([x, y]: [f64; 2], [left, top, right, bottom]: &Extent) -> f64 {
    let across = (left - x).max(x - right).max(0.0);
    let down = (top - y).max(y - bottom).max(0.0);
    across.hypot(down)
}

impl Labels {
    /// For letters of this height.
    pub(super) fn new(letter: f64) -> Self {
        Self {
            letter,
            taken: Vec::new(),
            places: Vec::new(),
        }
    }

    /// Keeps a text free that stands elsewhere.
    pub(super) fn take_text(&mut self, at: [f64; 2], anchor: &str, text: &str) {
        self.taken.push(self.extent(at, anchor, text));
    }

    /// Keeps the surroundings of a place free.
    pub(super) fn take(&mut self, [x, y]: [f64; 2], radius: f64) {
        self.places.push([x, y]);
        self.taken
            .push([x - radius, y - radius, x + radius, y + radius]);
    }

    /// The first of its texts that fits somewhere about its place.
    pub(super) fn place(&mut self, wanted: &Wanted) -> Option<Label> {
        for text in &wanted.texts {
            let all = self.candidates(wanted, text);
            let free = all.iter().find(|(_, extent)| self.is_free(extent, wanted));
            if let Some((label, extent)) = free {
                self.taken.push(*extent);
                return Some(label.clone());
            }
        }
        let text = wanted.texts.first().filter(|_| wanted.must)?;
        let (label, extent) = self.candidates(wanted, text).into_iter().next()?;
        self.taken.push(extent);
        Some(label)
    }

    /// Whether a text covers nothing there, and is nearest to its own place: else it is read as another's.
    fn is_free(&self, extent: &Extent, wanted: &Wanted) -> bool {
        let [left, top, right, bottom] = wanted.within;
        let inside =
            extent[0] >= left && extent[1] >= top && extent[2] <= right && extent[3] <= bottom;
        let own = away(wanted.at, extent) + 0.05 * self.letter;
        let others = self.places.iter().filter(|p| !one_place(**p, wanted.at));
        inside
            && !self.taken.iter().any(|t| meet(t, extent))
            && others.clone().all(|p| away(*p, extent) > own)
    }

    /// Right, left, above and below, then the corners.
    fn candidates(&self, wanted: &Wanted, text: &str) -> Vec<(Label, Extent)> {
        let (l, [x, y], gap) = (self.letter, wanted.at, wanted.gap);
        let places = [
            ("start", gap, 0.35 * l),
            ("end", -gap, 0.35 * l),
            ("middle", 0.0, -gap),
            ("middle", 0.0, gap + 0.8 * l),
            ("start", gap, -gap),
            ("end", -gap, -gap),
            ("start", gap, gap + 0.8 * l),
            ("end", -gap, gap + 0.8 * l),
        ];
        places
            .map(|(anchor, dx, dy)| {
                let at = [x + dx, y + dy];
                let extent = self.extent(at, anchor, text);
                let text = text.to_owned();
                (Label { at, anchor, text }, extent)
            })
            .into()
    }

    /// What a text covers.
    fn extent(&self, [x, y]: [f64; 2], anchor: &str, text: &str) -> Extent {
        let l = self.letter;
        #[allow(clippy::cast_precision_loss)]
        let wide = text.chars().count() as f64 * NARROW * l;
        let left = match anchor {
            "start" => x,
            "end" => x - wide,
            _ => x - wide / 2.0,
        };
        [left, y - 0.8 * l, left + wide, y + 0.25 * l]
    }
}
