//! The path of the cutter: lines by kind and level, and which way they go.

use super::super::Trace;
use super::super::marks::{Ink, Mark};
use super::{Pen, n};
use maud::{Markup, html};

/// Most arrows on a path.
const ARROWS: usize = 60;

impl Pen<'_> {
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

    pub(super) fn line(&self, mark: Mark, level: usize, points: &str) -> Markup {
        let [colour, wide, dashes] = self.stroke(mark, level);
        let dashes = (!dashes.is_empty()).then_some(dashes);
        html! {
            polyline points=(points) fill="none" stroke=(colour) stroke-width=(wide) stroke-dasharray=[dashes] {}
        }
    }

    /// The path within the sight, danger on top.
    pub(super) fn path(&self) -> Markup {
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
}
