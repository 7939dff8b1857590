//! The drawing of a program as a self-contained SVG file: no script, no font, nothing fetched. It prints in black and
//! white: what is not reached is hatched, rapids are dashed, and start and end carry their words.
//!
//! Source of the format: W3C, Scalable Vector Graphics (SVG) 1.1, from memory.

use super::markup::escaped;
use crate::program::coverage::Frame;
use crate::program::picture::{Area, Picture, Spot};
use std::fmt::Write;

/// Draws for a page: X to the right, Y up, all in millimetres of the plate.
struct Sheet {
    sight: Frame,
    /// Height of the letters; line widths go by it.
    letter: f64,
}

impl Sheet {
    fn x(&self, x: f64) -> f64 {
        x - self.sight.low[0]
    }

    fn y(&self, y: f64) -> f64 {
        self.sight.high[1] - y
    }

    fn place(&self, spot: Spot) -> String {
        let [x, y] = spot.mm();
        format!("{:.3},{:.3}", self.x(x), self.y(y))
    }

    fn rectangle(&self, area: &Area, look: &str) -> String {
        let frame = area.mm();
        let [wide, high] = frame.size();
        format!(
            "<rect x=\"{:.3}\" y=\"{:.3}\" width=\"{wide:.3}\" height=\"{high:.3}\" {look}/>\n",
            self.x(frame.low[0]),
            self.y(frame.high[1]),
        )
    }

    fn mark(&self, spot: Spot, word: &str, round: bool, alone: bool) -> String {
        let [x, y] = spot.mm();
        let (x, y, r) = (self.x(x), self.y(y), self.letter * 0.4);
        let word = if alone { word } else { "start and end" };
        let shape = if round {
            format!("<circle cx=\"{x:.3}\" cy=\"{y:.3}\" r=\"{r:.3}\" class=\"mark\"/>")
        } else {
            let (left, top, side) = (x - r, y - r, 2.0 * r);
            format!(
                "<rect x=\"{left:.3}\" y=\"{top:.3}\" width=\"{side:.3}\" height=\"{side:.3}\" class=\"mark\"/>"
            )
        };
        // Start above, end below its mark: they often lie near each other.
        let under = if round { -0.9 * r } else { 2.4 * r };
        format!(
            "{shape}<text x=\"{:.3}\" y=\"{:.3}\" class=\"halo\">{word}</text>\n",
            x + 1.4 * r,
            y + under,
        )
    }
}

/// The file's text. `title` names the program, `words` say what the drawing shows.
pub fn svg(picture: &Picture, title: &str, words: &[String]) -> String {
    let sight = picture.sight();
    let [wide, high] = sight.size();
    let letter = wide.max(high) / 45.0;
    let margin = 2.5 * letter;
    let sheet = Sheet { sight, letter };
    let wrapped: Vec<String> = words
        .iter()
        .flat_map(|w| lines(w, wide + margin, letter))
        .collect();
    #[allow(clippy::cast_precision_loss)]
    let below = (wrapped.len() as f64 + 6.0) * 1.4 * letter;
    let (full_wide, full_high) = (wide + 2.0 * margin, high + margin + below);
    let mut out = String::new();
    let stroke = letter * 0.12;
    let hatch = letter * 0.5;
    // Writing to a String cannot fail.
    let _ = write!(
        out,
        r##"<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="title desc" width="100%" viewBox="{:.3} {:.3} {full_wide:.3} {full_high:.3}">
<title id="title">{title}</title>
<desc id="desc">{desc}</desc>
<defs><pattern id="hatch" width="{hatch:.3}" height="{hatch:.3}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="{hatch:.3}" height="{hatch:.3}" fill="#fff"/><rect width="{half:.3}" height="{hatch:.3}" fill="#b00020"/></pattern></defs>
<style>text{{font-family:sans-serif;font-size:{letter:.3}px;fill:#111}}.halo{{paint-order:stroke;stroke:#fff;stroke-width:{halo:.3}px}}.feed,.rapid{{fill:none;stroke-width:{stroke:.3}px}}.feed{{stroke:#1d4f91}}.rapid{{stroke:#555;stroke-dasharray:{dash:.3} {dash:.3}}}.plate{{fill:#e9e9e9;stroke:#111;stroke-width:{stroke2:.3}px}}.edge{{fill:none;stroke:#111;stroke-width:{stroke2:.3}px}}.missed{{fill:url(#hatch);stroke:#b00020;stroke-width:{stroke:.3}px}}.mark{{fill:#fff;stroke:#111;stroke-width:{stroke2:.3}px}}</style>
<rect x="{:.3}" y="{:.3}" width="{full_wide:.3}" height="{full_high:.3}" fill="#fff"/>
"##,
        -margin,
        -margin,
        -margin,
        -margin,
        title = escaped(title),
        desc = escaped(&words.join(" ")),
        half = hatch * 0.4,
        halo = letter * 0.25,
        dash = letter * 0.5,
        stroke2 = stroke * 1.5,
    );
    out.push_str(&sheet.rectangle(&picture.plate, "class=\"plate\""));
    // Clips far rapids; a line along the border keeps its whole width.
    let (clip_wide, clip_high) = (wide + 2.0 * stroke, high + 2.0 * stroke);
    let _ = writeln!(
        out,
        "<svg x=\"-{stroke:.3}\" y=\"-{stroke:.3}\" width=\"{clip_wide:.3}\" height=\"{clip_high:.3}\" viewBox=\"-{stroke:.3} -{stroke:.3} {clip_wide:.3} {clip_high:.3}\">"
    );
    for area in &picture.missed {
        out.push_str(&sheet.rectangle(area, "class=\"missed\""));
    }
    for trace in &picture.traces {
        let kind = if trace.rapid { "rapid" } else { "feed" };
        let places: Vec<String> = trace.spots.iter().map(|s| sheet.place(*s)).collect();
        let _ = writeln!(
            out,
            "<polyline class=\"{kind}\" points=\"{}\"/>",
            places.join(" ")
        );
    }
    out.push_str("</svg>\n");
    out.push_str(&sheet.rectangle(&picture.plate, "class=\"edge\""));
    let inside = |s: &Spot| {
        let [x, y] = s.mm();
        x >= sight.low[0] && x <= sight.high[0] && y >= sight.low[1] && y <= sight.high[1]
    };
    for (spot, word, round) in [
        (picture.start(), "start", true),
        (picture.end(), "end", false),
    ] {
        let alone = picture.start() != picture.end();
        if let Some(spot) = spot.filter(inside).filter(|_| alone || round) {
            out.push_str(&sheet.mark(spot, word, round, alone));
        }
    }
    let mut y = high + 3.2 * letter;
    let mut say = |text: &str, bold: bool| {
        let weight = if bold { " font-weight=\"bold\"" } else { "" };
        let _ = writeln!(
            out,
            "<text x=\"0\" y=\"{y:.3}\"{weight}>{}</text>",
            escaped(text)
        );
        y += 1.4 * letter;
    };
    say(title, true);
    let [low, top] = [picture.plate.low.mm(), picture.plate.high.mm()];
    say(
        &format!(
            "Plate X {} to {}, Y {} to {} mm; X to the right, Y up.",
            low[0], top[0], low[1], top[1]
        ),
        false,
    );
    let mut key = "Solid line: feed. Dashed line: rapid.".to_owned();
    if !picture.missed.is_empty() {
        key.push_str(" Hatched: not reached.");
    }
    say(&key, false);
    for line in &wrapped {
        say(line, false);
    }
    out.push_str("</svg>\n");
    out
}

/// Breaks a text so that it fits `wide`, letters taken as a little over half as wide as high.
fn lines(text: &str, wide: f64, letter: f64) -> Vec<String> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = (wide / (0.53 * letter)).clamp(20.0, 500.0) as usize;
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

#[cfg(test)]
mod tests {
    use super::svg;
    use crate::program::coverage::{Cover, Frame, Task};
    use crate::program::picture::{PathRecorder, Picture};

    /// Invented: five rows along X, the step to the last one too wide.
    fn picture() -> Picture {
        let plate = Frame::between([0.0, 0.0], [120.0, 60.0]);
        let task = Task {
            plate,
            flat: 6.0,
            depth: 0.0,
        };
        let mut cover = Cover::new(task).unwrap();
        let mut recorder = PathRecorder::over(&plate);
        recorder.straight([-12.0, -12.0], [-8.0, 5.0], true);
        let mut at = [-8.0, 5.0];
        for (n, y) in [5.0, 16.0, 27.0, 38.0, 54.0].into_iter().enumerate() {
            let (a, b) = if n % 2 == 0 {
                (-8.0, 128.0)
            } else {
                (128.0, -8.0)
            };
            for to in [[a, y], [b, y]] {
                recorder.straight(at, to, false);
                cover.straight([at[0], at[1], 0.0], [to[0], to[1], 0.0], 0.0, 1);
                at = to;
            }
        }
        recorder.straight(at, [-12.0, -12.0], true);
        Picture::new(&plate, recorder.finish(), Some(&cover.finish()))
    }

    #[test]
    fn the_file_is_whole_and_carries_no_more_than_text() {
        let file = svg(
            &picture(),
            "rows <1> & \"2\"",
            &["Not reached: 8 % of the plate.".to_owned()],
        );
        for part in [
            "<title id=\"title\">rows &lt;1&gt; &amp; &quot;2&quot;</title>",
            "<desc id=\"desc\">Not reached: 8 % of the plate.</desc>",
            "class=\"missed\"",
            ">start and end</text>",
            "Hatched: not reached.",
        ] {
            assert!(file.contains(part), "{part} is missing in {file}");
        }
        assert_eq!(file.matches("<svg").count(), file.matches("</svg>").count());
        for foreign in ["<script", "href", "url(http", "@import", "NaN", "inf"] {
            assert!(!file.contains(foreign), "{foreign} in {file}");
        }
        insta::assert_snapshot!(file);
    }
}
