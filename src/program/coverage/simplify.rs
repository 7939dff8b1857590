//! Replaces runs of nearly straight blocks by one chord each, before any expensive computation.
//!
//! The run stores a cone of directions in which every chord from its start passes all points so far within the
//! tolerance. A point outside the cone, or one that goes back, ends the run. Each point is examined once and not
//! stored.
//!
//! Conservative: each chord states by how much the path may deviate from it. A disc of the cutter's radius minus that
//! deviation, swept along the chord, is inside the area that the cutter sweeps along the path: the path never turns
//! back within a run, so it passes every point of the chord within that deviation.

/// Largest deviation of a path from the chord that replaces it, mm.
pub(crate) const TOLERANCE: f64 = 0.005;
/// A bend smaller than this is rounding.
const STRAIGHT: f64 = 1e-7;
/// Smallest factor by which a point must be further along an axis than the point before it, so that rounding cannot
/// make the cone of the earlier point the narrower one.
const FURTHER: f64 = 1.0 + 1e-9;
/// Range of lengths in which the square root of the square is exactly the length.
const PLAIN: [f64; 2] = [1e-100, 1e100];

/// A straight piece that replaces one block or many.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Chord {
    /// Start of the piece, mm.
    pub from: [f64; 2],
    /// End of the piece, mm.
    pub to: [f64; 2],
    /// Largest deviation of the path from the piece, mm.
    pub stray: f64,
    /// Line of the first block in the piece.
    pub line: u32,
}

/// The current run.
#[derive(Clone, Copy, Debug)]
struct Run {
    from: [f64; 2],
    to: [f64; 2],
    line: u32,
    /// The two sides of the cone, as directions from `from`; `None` while every point is within the tolerance of
    /// `from`.
    cone: Option<[[f64; 2]; 2]>,
    /// The direction to the first point that is not `from` itself, as a unit vector.
    first: Option<[f64; 2]>,
    /// Largest distance of a point from the line along `first`, mm.
    sideways: f64,
    /// Largest deviation of the pieces themselves, mm: the sagittas of arcs.
    own: f64,
    /// The deviation allowed, mm.
    within: f64,
    /// Set while every point so far is further along one axis than the point before it: the axis, the direction, and
    /// the coordinate of the last point. The cone is then that of the last point alone, and is computed only when it is
    /// needed.
    level: Option<(Axis, f64, f64)>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Axis {
    X,
    Y,
}

impl Axis {
    /// The coordinate along the axis, and the other coordinate.
    #[inline]
    fn split(self, [x, y]: [f64; 2]) -> (f64, f64) {
        match self {
            Self::X => (x, y),
            Self::Y => (y, x),
        }
    }
}

/// Replaces runs of blocks by chords.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Simplifier {
    run: Option<Run>,
    within: f64,
}

impl Default for Simplifier {
    fn default() -> Self {
        Self::within(TOLERANCE)
    }
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// The two sides of a cone about `v` with the half-width `wide` at the length of `v`.
fn sides(v: [f64; 2], wide: f64) -> [[f64; 2]; 2] {
    [
        [v[0] + wide * v[1], v[1] - wide * v[0]],
        [v[0] - wide * v[1], v[1] + wide * v[0]],
    ]
}

impl Run {
    fn start(from: [f64; 2], to: [f64; 2], line: u32, own: f64, within: f64) -> Self {
        let mut run = Self {
            from,
            to: from,
            line,
            cone: None,
            first: None,
            sideways: 0.0,
            own,
            within,
            level: None,
        };
        if !run.begin_along_axis(to) {
            run.add(to, own);
        }
        run
    }

    /// Starts a run along an axis, where the first piece is parallel to one.
    #[allow(clippy::float_cmp)]
    fn begin_along_axis(&mut self, to: [f64; 2]) -> bool {
        let axis = if self.from[1] == to[1] {
            Axis::X
        } else if self.from[0] == to[0] {
            Axis::Y
        } else {
            return false;
        };
        let (from, _) = axis.split(self.from);
        let (place, _) = axis.split(to);
        let way = if place > from { 1.0 } else { -1.0 };
        let reach = (place - from) * way;
        if !(PLAIN[0] < reach && reach < PLAIN[1]) {
            return false;
        }
        let (x, y) = axis.split([way, 0.0]);
        self.first = Some([x, y]);
        self.level = Some((axis, way, reach));
        self.to = to;
        true
    }

    /// Continues a run along its axis; returns whether that was possible.
    #[inline]
    #[allow(clippy::float_cmp)]
    fn continue_along_axis(&mut self, to: [f64; 2], own: f64) -> bool {
        let Some((axis, way, reach)) = &mut self.level else {
            return false;
        };
        let (from, offset) = axis.split(self.from);
        let (place, across) = axis.split(to);
        let further = (place - from) * *way;
        if across == offset && further > *reach * FURTHER && further < PLAIN[1] {
            *reach = further;
            self.to = to;
            self.own = self.own.max(own);
            return true;
        }
        false
    }

    /// Computes the cone of a run along an axis.
    fn leave_axis(&mut self) {
        if self.level.take().is_some() {
            let v = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
            let long = (v[0] * v[0] + v[1] * v[1]).sqrt();
            if long > self.within {
                self.cone = Some(sides(v, self.within / long));
            }
        }
    }

    /// Extends the run to `to` where that is possible; returns whether it did.
    fn add(&mut self, to: [f64; 2], own: f64) -> bool {
        self.leave_axis();
        let v = [to[0] - self.from[0], to[1] - self.from[1]];
        let step = [to[0] - self.to[0], to[1] - self.to[1]];
        let back = |of: [f64; 2]| of[0] * step[0] + of[1] * step[1] < 0.0;
        if back(v) || self.first.is_some_and(back) {
            return false;
        }
        if let Some([low, high]) = self.cone
            && (cross(low, v) < 0.0 || cross(v, high) < 0.0)
        {
            return false;
        }
        let long = (v[0] * v[0] + v[1] * v[1]).sqrt();
        match self.first {
            Some(first) => self.sideways = self.sideways.max(cross(first, v).abs()),
            None if long > 0.0 => self.first = Some([v[0] / long, v[1] / long]),
            None => {}
        }
        if long > self.within {
            let [low, high] = sides(v, self.within / long);
            self.cone = Some(match self.cone {
                None => [low, high],
                Some([l, h]) => [
                    if cross(l, low) > 0.0 { low } else { l },
                    if cross(h, high) < 0.0 { high } else { h },
                ],
            });
        }
        self.to = to;
        self.own = self.own.max(own);
        true
    }

    fn chord(&self) -> Chord {
        // All points, the end included, are within `sideways` of the line along the first direction, so they are within
        // twice that of the chord.
        let bent = if self.sideways < STRAIGHT {
            0.0
        } else {
            self.within.min(2.0 * self.sideways)
        };
        Chord {
            from: self.from,
            to: self.to,
            stray: bent + self.own,
            line: self.line,
        }
    }
}

impl Simplifier {
    /// Allows a deviation of at most this, mm.
    pub(crate) fn within(within: f64) -> Self {
        Self { run: None, within }
    }

    /// From the next run on, allows a deviation of at most this, mm.
    pub(crate) fn loosen(&mut self, within: f64) {
        self.within = within;
    }

    /// Adds a straight piece that may itself deviate by `own` from the path; gives the chord that it ends, if it ends
    /// one.
    #[inline]
    #[allow(clippy::float_cmp)]
    pub(crate) fn push(
        &mut self,
        from: [f64; 2],
        to: [f64; 2],
        own: f64,
        line: u32,
    ) -> Option<Chord> {
        if let Some(run) = &mut self.run
            && run.to == from
            && (run.continue_along_axis(to, own) || run.add(to, own))
        {
            return None;
        }
        let done = self.end();
        self.run = Some(Run::start(from, to, line, own, self.within));
        done
    }

    /// Ends the current run and gives its chord, if there is one.
    pub(crate) fn end(&mut self) -> Option<Chord> {
        self.run.take().map(|run| run.chord())
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::many_single_char_names)]
mod tests {
    use super::{Chord, Simplifier, TOLERANCE};
    use proptest::prelude::{prop, proptest};

    fn chords(points: &[[f64; 2]]) -> Vec<Chord> {
        let mut simplifier = Simplifier::default();
        let mut out = Vec::new();
        for (line, pair) in (1..).zip(points.windows(2)) {
            out.extend(simplifier.push(pair[0], pair[1], 0.0, line));
        }
        out.extend(simplifier.end());
        out
    }

    fn distance(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
        let d = [b[0] - a[0], b[1] - a[1]];
        let v = [p[0] - a[0], p[1] - a[1]];
        let long = d[0] * d[0] + d[1] * d[1];
        let t = if long > 0.0 {
            ((v[0] * d[0] + v[1] * d[1]) / long).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (v[0] - t * d[0]).hypot(v[1] - t * d[1])
    }

    #[test]
    fn a_straight_row_in_many_blocks_is_one_exact_chord() {
        let points: Vec<[f64; 2]> = (0..=2000).map(|i| [f64::from(i) * 0.15, 34.0]).collect();
        let found = chords(&points);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].stray, found[0].line), (0.0, 1));
        assert_eq!((found[0].from, found[0].to), ([0.0, 34.0], points[2000]));
    }

    #[test]
    fn a_corner_or_a_reversal_ends_a_run() {
        let found = chords(&[[0.0, 0.0], [5.0, 0.0], [9.0, 0.0], [9.0, 7.0], [9.0, 3.0]]);
        let ends: Vec<[f64; 2]> = found.iter().map(|c| c.to).collect();
        assert_eq!(ends, [[9.0, 0.0], [9.0, 7.0], [9.0, 3.0]]);
        assert_eq!(found.iter().map(|c| c.line).collect::<Vec<_>>(), [1, 3, 4]);
    }

    #[test]
    fn a_wave_needs_few_chords() {
        let wave = |i: i32| [f64::from(i) * 0.1, 0.3 * (f64::from(i) * 0.01).sin()];
        let points: Vec<[f64; 2]> = (0..6000).map(wave).collect();
        let found = chords(&points);
        assert!(found.len() < 300, "{}", found.len());
        assert!(found.iter().all(|c| c.stray <= TOLERANCE));
    }

    proptest! {
        // By definition: each skipped point is within the deviation of its chord, and the chords join.
        #[test]
        fn no_point_deviates_more_than_stated(
            steps in prop::collection::vec((-0.02_f64..0.5, -0.01_f64..0.01), 2..60),
        ) {
            let mut points = vec![[0.0, 0.0]];
            for (x, y) in steps {
                let last = points[points.len() - 1];
                points.push([last[0] + x, last[1] + y]);
            }
            let found = chords(&points);
            for pair in found.windows(2) {
                assert_eq!(pair[0].to, pair[1].from);
            }
            for (k, chord) in found.iter().enumerate() {
                let first = usize::try_from(chord.line).unwrap() - 1;
                let last = found
                    .get(k + 1)
                    .map_or(points.len() - 1, |c| usize::try_from(c.line).unwrap() - 1);
                for point in &points[first..=last] {
                    let off = distance(*point, chord.from, chord.to);
                    assert!(off <= chord.stray + 1e-7, "{off} beyond {}", chord.stray);
                }
            }
        }
    }
}
