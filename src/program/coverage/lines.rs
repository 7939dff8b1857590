//! One family of parallel lines over the plate, and the covered part of each line: unions of intervals.
//!
//! A disc swept along a straight piece is convex, so it covers exactly one interval of each line, which is computed
//! without approximation. The position of shapes relative to each other is never decided, so paths that cross
//! themselves or run over each other cause no error.
//!
//! `u` runs along the lines and `s` across them: X and Y for rows, Y and X for columns.

/// Two intervals nearer than this count as one, mm: two equal ends may differ by so much in floating point.
const TOUCHING: f64 = 1e-6;
/// A piece that rises across the lines by less than this counts as parallel to them, mm.
const LEVEL: f64 = 1e-6;
/// Most separate intervals stored for one line before they are sorted and merged.
const APART: usize = 64;

/// A family of lines over a plate.
#[derive(Clone, Debug)]
pub(crate) struct Lines {
    /// Distance between neighbouring lines, mm; each line represents a strip of that width.
    pub pitch: f64,
    first: f64,
    ends: [f64; 2],
    /// The interval last extended on each line.
    last: Vec<[f64; 2]>,
    /// The other intervals of each line, and the number of them at which they are merged again.
    rest: Vec<(Vec<[f64; 2]>, usize)>,
}

/// An interval that touches nothing.
const NONE: [f64; 2] = [f64::INFINITY, f64::NEG_INFINITY];

impl Lines {
    /// Lines along `along` over the extent `across` of the plate, at most `pitch` mm apart.
    pub(crate) fn over(along: [f64; 2], across: [f64; 2], pitch: f64) -> Self {
        let wide = across[1] - across[0];
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let count = (wide / pitch).ceil().clamp(1.0, 1e6) as usize;
        #[allow(clippy::cast_precision_loss)]
        let pitch = wide / count as f64;
        Self {
            pitch,
            first: across[0] + pitch / 2.0,
            ends: along,
            last: vec![NONE; count],
            rest: vec![(Vec::new(), APART); count],
        }
    }

    /// The coordinate of the line with that number, across the lines.
    pub(crate) fn at(&self, number: usize) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        let number = number as f64;
        self.first + number * self.pitch
    }

    /// How many lines there are.
    pub(crate) fn count(&self) -> usize {
        self.last.len()
    }

    /// Adds a disc of radius `r` swept from `a` to `b`, each as `[u, s]`, in mm.
    ///
    /// Source: derived. On the line at `s` the right end lies on the tangent line `a + t d + r n`, `n` the unit normal
    /// with `n_u >= 0`, at `t = (s - a_s - r n_s) / d_s` where that is within 0 to 1, else on the disc at the nearer end:
    /// `u = c_u + sqrt(r^2 - (s - c_s)^2)`. The left end is the same with `-n`.
    pub(crate) fn sweep(&mut self, a: [f64; 2], b: [f64; 2], r: f64) {
        // Order the ends so that `s` grows: the tangent then runs from a to b.
        let (a, b) = if a[1] <= b[1] { (a, b) } else { (b, a) };
        let (du, ds) = (b[0] - a[0], b[1] - a[1]);
        if a[0].max(b[0]) + r < self.ends[0] || a[0].min(b[0]) - r > self.ends[1] {
            return;
        }
        let Some((from, upto)) = self.between(a[1] - r, b[1] + r) else {
            return;
        };
        let square = r * r;
        if ds < LEVEL {
            let (left, right) = (a[0].min(b[0]), a[0].max(b[0]));
            let s = f64::midpoint(a[1], b[1]);
            self.each(from, upto, |line| {
                let half = (square - (line - s) * (line - s)).max(0.0).sqrt();
                [left - half, right + half]
            });
            return;
        }
        let long = du.hypot(ds);
        let (nu, ns) = (r * ds / long, -r * du / long);
        let slope = du / ds;
        let (right_from, right_to) = (a[1] + ns, b[1] + ns);
        let (left_from, left_to) = (a[1] - ns, b[1] - ns);
        let disc = |end: [f64; 2], line: f64| {
            let off = line - end[1];
            (square - off * off).max(0.0).sqrt()
        };
        self.each(from, upto, |line| {
            let right = if line <= right_from {
                a[0] + disc(a, line)
            } else if line >= right_to {
                b[0] + disc(b, line)
            } else {
                a[0] + nu + (line - right_from) * slope
            };
            let left = if line <= left_from {
                a[0] - disc(a, line)
            } else if line >= left_to {
                b[0] - disc(b, line)
            } else {
                a[0] - nu + (line - left_from) * slope
            };
            [left, right]
        });
    }

    /// The numbers of the lines from `low` to `high`, the end excluded.
    fn between(&self, low: f64, high: f64) -> Option<(usize, usize)> {
        let from = ((low - self.first) / self.pitch).ceil().max(0.0);
        let upto = ((high - self.first) / self.pitch).floor();
        #[allow(clippy::cast_precision_loss)]
        let top = self.last.len() as f64 - 1.0;
        if !(from <= top && upto >= from) {
            return None;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Some((from as usize, upto.min(top) as usize + 1))
    }

    fn each(&mut self, from: usize, upto: usize, interval: impl Fn(f64) -> [f64; 2]) {
        let (first, pitch) = (self.at(from), self.pitch);
        let lines = self.last.iter_mut().zip(&mut self.rest);
        let mut number = 0.0;
        for (last, rest) in lines.skip(from).take(upto - from) {
            let [left, right] = interval(first + number * pitch);
            number += 1.0;
            if left <= last[1] + TOUCHING && right >= last[0] - TOUCHING {
                last[0] = last[0].min(left);
                last[1] = last[1].max(right);
            } else {
                put_by(rest, std::mem::replace(last, [left, right]));
            }
        }
    }

    /// The uncovered intervals of the line with that number, in order.
    pub(crate) fn missed(&self, number: usize) -> Vec<[f64; 2]> {
        let mut reached = self.rest.get(number).map_or(Vec::new(), |(r, _)| r.clone());
        reached.extend(self.last.get(number));
        merge(&mut reached);
        let mut missed = Vec::new();
        let mut at = self.ends[0];
        for [left, right] in reached {
            if left > self.ends[1] {
                break;
            }
            if left > at + TOUCHING {
                missed.push([at, left]);
            }
            at = at.max(right);
        }
        if self.ends[1] > at + TOUCHING {
            missed.push([at, self.ends[1]]);
        }
        missed
    }
}

#[cold]
fn put_by((rest, limit): &mut (Vec<[f64; 2]>, usize), interval: [f64; 2]) {
    if interval[0] > interval[1] {
        return;
    }
    rest.push(interval);
    if rest.len() >= *limit {
        merge(rest);
        *limit = (2 * rest.len()).max(APART);
    }
}

/// Sorts intervals and joins those that touch.
fn merge(intervals: &mut Vec<[f64; 2]>) {
    intervals.retain(|i| i[0] <= i[1]);
    intervals.sort_by(|a, b| a[0].total_cmp(&b[0]));
    intervals.dedup_by(|next, last| {
        let touch = next[0] <= last[1] + TOUCHING;
        if touch {
            last[1] = last[1].max(next[1]);
        }
        touch
    });
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::many_single_char_names)]
mod tests {
    use super::Lines;
    use proptest::prelude::proptest;

    /// Whether a point is within `r` of the piece from `a` to `b`: the definition of a swept disc.
    fn swept(p: [f64; 2], a: [f64; 2], b: [f64; 2], r: f64) -> bool {
        let d = [b[0] - a[0], b[1] - a[1]];
        let v = [p[0] - a[0], p[1] - a[1]];
        let long = d[0] * d[0] + d[1] * d[1];
        let t = if long > 0.0 {
            ((v[0] * d[0] + v[1] * d[1]) / long).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (v[0] - t * d[0]).hypot(v[1] - t * d[1]) <= r
    }

    proptest! {
        // By definition: the disc covers a point just inside an end of the interval, and not one just outside.
        #[test]
        fn intervals_end_where_the_swept_disc_does(
            ax in 2.0_f64..18.0, ay in 2.0_f64..18.0, bx in 2.0_f64..18.0, by in 2.0_f64..18.0, r in 0.1_f64..2.0,
        ) {
            let mut lines = Lines::over([0.0, 20.0], [0.0, 20.0], 0.25);
            let (a, b) = ([ax, ay], [bx, by]);
            lines.sweep(a, b, r);
            for number in 0..lines.count() {
                let s = lines.at(number);
                let missed = lines.missed(number);
                match &missed[..] {
                    [_all] => {
                        for k in 0..=400 {
                            let u = f64::from(k) * 0.05;
                            assert!(!swept([u, s], a, b, r - 1e-6), "({u}, {s}) is reached");
                        }
                    }
                    [before, after] => {
                        let (left, right) = (before[1], after[0]);
                        assert!(swept([left + 1e-6, s], a, b, r + 1e-6));
                        assert!(swept([right - 1e-6, s], a, b, r + 1e-6));
                        assert!(!swept([left - 1e-5, s], a, b, r - 1e-9));
                        assert!(!swept([right + 1e-5, s], a, b, r - 1e-9));
                    }
                    other => panic!("{other:?}"),
                }
            }
        }
    }

    #[test]
    fn many_unordered_intervals_are_merged() {
        let mut lines = Lines::over([0.0, 1000.0], [0.0, 1.0], 1.0);
        for k in 0..300 {
            let u = f64::from((k * 7) % 300) * 3.0;
            lines.sweep([u, 0.5], [u, 0.5], 1.0);
        }
        // Discs of radius 1 every 3: gaps of 1 between them, and the far end.
        let missed = lines.missed(0);
        assert_eq!(missed.len(), 300);
        assert!(
            missed
                .iter()
                .take(299)
                .all(|m| (m[1] - m[0] - 1.0).abs() < 1e-9)
        );
        assert_eq!(missed[299], [898.0, 1000.0]);
    }
}
