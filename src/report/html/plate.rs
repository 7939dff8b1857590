//! The touched plate from above as a drawing: what a plane cleans up, every touch with its name and height, the cutter to
//! the same scale. Patterns carry the meaning, and each has its words below.

use crate::plate::between::Map;
use crate::plate::{Class, Land};
use crate::quantity::Length;
use crate::report::land::left_out;
use crate::report::markup::escaped;
use crate::report::page::Picture;
use std::fmt::Write;

/// Cells along the longer side.
const CELLS: usize = 80;

fn pattern(class: Class) -> &'static str {
    match class {
        Class::Cleans => "#fff",
        Class::Likely => "url(#dots)",
        Class::NotKnown => "url(#bars)",
        Class::Stays => "url(#cross)",
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)]
fn cells(size: [f64; 2]) -> [usize; 2] {
    let most = size[0].max(size[1]).max(f64::MIN_POSITIVE);
    size.map(|s| ((CELLS as f64 * s / most).round().max(1.0) as usize).min(CELLS))
}

/// Draws in millimetres of the plate, Y up.
struct Sheet<'a> {
    land: &'a Land,
    size: [f64; 2],
    letter: f64,
}

impl Sheet<'_> {
    fn place(&self, x: Length, y: Length) -> [f64; 2] {
        let [low, _] = [self.land.low, self.land.high];
        [x.mm() - low[0].mm(), self.size[1] - (y.mm() - low[1].mm())]
    }

    /// Cells of one row that are alike become one rectangle.
    #[allow(clippy::cast_precision_loss)]
    fn ground(&self, out: &mut String, map: &Map, [columns, rows]: [usize; 2]) {
        let (wide, high) = (self.size[0] / columns as f64, self.size[1] / rows as f64);
        for row in 0..rows {
            let class = |column: usize| map.cells.get(row * columns + column).map(|c| c.class);
            let mut from = 0;
            while from < columns {
                let mut to = from + 1;
                while to < columns && class(to) == class(from) {
                    to += 1;
                }
                let fill = class(from).map_or("#fff", pattern);
                let (x, y) = (from as f64 * wide, self.size[1] - (row + 1) as f64 * high);
                let _ = writeln!(
                    out,
                    "<rect x=\"{x:.3}\" y=\"{y:.3}\" width=\"{:.3}\" height=\"{high:.3}\" fill=\"{fill}\"/>",
                    (to - from) as f64 * wide
                );
                from = to;
            }
        }
    }

    fn touches(&self, out: &mut String, picture: &Picture) {
        let show = picture.show.signed();
        for spot in &self.land.spots {
            let [x, y] = self.place(spot.x, spot.y);
            let r = self.letter * 0.3;
            // Names near an edge are written towards the middle.
            let right = x > self.size[0] * 0.8;
            let (anchor, at) = if right {
                ("end", x - 2.0 * r)
            } else {
                ("start", x + 2.0 * r)
            };
            let text = format!("{} {}", spot.point, show.one(spot.height.into()));
            let below = if y < self.letter * 1.5 {
                self.letter
            } else {
                -r
            };
            let _ = writeln!(
                out,
                "<circle cx=\"{x:.3}\" cy=\"{y:.3}\" r=\"{r:.3}\" fill=\"#111\"/><text class=\"halo\" text-anchor=\"{anchor}\" \
                 x=\"{at:.3}\" y=\"{:.3}\">{}</text>",
                y + below,
                escaped(&text)
            );
        }
    }
}

/// The drawing with its words; nothing where it cannot be drawn.
pub fn figure(picture: &Picture) -> String {
    let land = &picture.land;
    let size = land.size();
    let count = cells(size);
    let Ok(map) = land.map(picture.plane, count[0], count[1]) else {
        return String::new();
    };
    let letter = size[0].max(size[1]) / 38.0;
    let sheet = Sheet { land, size, letter };
    let margin = 2.0 * letter;
    let mut out = String::new();
    let hatch = letter * 0.6;
    let _ = writeln!(
        out,
        "<figure>\n<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"100%\" viewBox=\"{:.3} {:.3} {:.3} {:.3}\">\n\
         <title>The plate from above, front at the bottom</title>\n<defs>\
         <pattern id=\"dots\" width=\"{hatch:.3}\" height=\"{hatch:.3}\" patternUnits=\"userSpaceOnUse\"><rect width=\"{hatch:.3}\" \
         height=\"{hatch:.3}\" fill=\"#fff\"/><circle cx=\"{half:.3}\" cy=\"{half:.3}\" r=\"{dot:.3}\" fill=\"#777\"/></pattern>\
         <pattern id=\"bars\" width=\"{hatch:.3}\" height=\"{hatch:.3}\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"{hatch:.3}\" height=\"{hatch:.3}\" fill=\"#fff\"/><rect width=\"{dot:.3}\" \
         height=\"{hatch:.3}\" fill=\"#555\"/></pattern>\
         <pattern id=\"cross\" width=\"{hatch:.3}\" height=\"{hatch:.3}\" patternUnits=\"userSpaceOnUse\"><rect width=\"{hatch:.3}\" \
         height=\"{hatch:.3}\" fill=\"#fff\"/><path d=\"M0 0L{hatch:.3} {hatch:.3}M{hatch:.3} 0L0 {hatch:.3}\" stroke=\"#111\" \
         stroke-width=\"{dot:.3}\"/></pattern></defs>\n\
         <style>text{{font:{letter:.3}px sans-serif;fill:#111}}.halo{{paint-order:stroke;stroke:#fff;stroke-width:{halo:.3}px}}</style>",
        -margin,
        -margin,
        size[0] + 2.0 * margin,
        size[1] + 2.0 * margin,
        half = hatch / 2.0,
        dot = hatch * 0.16,
        halo = letter * 0.3,
    );
    sheet.ground(&mut out, &map, count);
    let edge = letter * 0.12;
    let _ = writeln!(
        out,
        "<rect width=\"{:.3}\" height=\"{:.3}\" fill=\"none\" stroke=\"#111\" stroke-width=\"{edge:.3}\"/>",
        size[0], size[1]
    );
    if let Some(cutter) = picture.cutter {
        let r = cutter.mm() / 2.0;
        let _ = writeln!(
            out,
            "<circle cx=\"{:.3}\" cy=\"{:.3}\" r=\"{r:.3}\" fill=\"none\" stroke=\"#111\" stroke-width=\"{edge:.3}\" \
             stroke-dasharray=\"{:.3}\"/>",
            size[0] / 2.0,
            size[1] * 0.27,
            letter * 0.4
        );
    }
    sheet.touches(&mut out, picture);
    let _ = writeln!(
        out,
        "<text text-anchor=\"middle\" x=\"{:.3}\" y=\"{:.3}\">front</text>\n</svg>\n<figcaption>For the plane {}: white is clean, \
         dotted most likely clean, striped not known, crossed keeps its skin.{}{}</figcaption>\n</figure>",
        size[0] / 2.0,
        size[1] + 1.4 * letter,
        escaped(&picture.show.signed().both(picture.plane.into())),
        if picture.cutter.is_some() {
            " The dashed circle is the cutter."
        } else {
            ""
        },
        left_out(land).map_or_else(String::new, |text| format!(" {}", escaped(&text))),
    );
    out
}

#[cfg(test)]
mod tests {
    use super::figure;
    use crate::plate::{Bound, Doubt, Facts, Land, Spot};
    use crate::quantity::{Length, UnitSystem, show::Show};
    use crate::report::page::Picture;

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    /// Invented: a plate of 240 x 96 mm, low in the middle.
    #[test]
    fn the_plate_is_drawn_with_all_its_touches() {
        let at = [
            ("SW", 12, 12, 0),
            ("SE", 228, 12, -120),
            ("NE", 228, 84, 190),
            ("NW", 12, 84, -40),
            ("C", 120, 48, -170),
        ];
        let spots = at.map(|(point, x, y, height)| Spot {
            point: point.to_owned(),
            x: um(x * 1000),
            y: um(y * 1000),
            height: um(height),
        });
        let size = Some([um(240_000), um(96_000)]);
        let doubt = Doubt {
            touch: Bound::Limits(um(10)),
            shared: Bound::Limits(Length::ZERO),
        };
        let facts = Facts {
            size,
            ..Facts::doubting(doubt)
        };
        let land = Land::of(&spots, facts).unwrap();
        let drawn = figure(&Picture {
            land,
            plane: um(-50),
            cutter: Some(um(12_000)),
            show: Show::new(UnitSystem::Mm),
        });
        for part in [
            "viewBox=\"-12.632 -12.632 265.263 121.263\"",
            "cx=\"120.000\" cy=\"48.000\"",
            ">SE -0.12 mm</text>",
            "r=\"6.000\" fill=\"none\"",
            ">front</text>",
            "For the plane -0.05 mm",
            "fill=\"url(#cross)\"",
        ] {
            assert!(drawn.contains(part), "{part} is missing in {drawn}");
        }
        assert!(!drawn.contains("NaN"));
    }
}
