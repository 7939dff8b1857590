//! Keeps a program's path for a picture, as finely as a picture shows it, and never more of it than a set number of
//! places.

use super::view::{Recorded, Spot, Trace, Upright, micrometres};
use crate::program::coverage::simplify::Simplifier;
use crate::program::motion::{Motion, MotionKind, Straight};
use crate::program::observer::Observer;
use crate::scene::Rect;

/// Most places kept.
const MOST: usize = 20_000;
/// How far the picture may stray from the path at first, as a share of the plate's longer side.
const FINE: f64 = 0.0005;

/// Most ways straight down kept.
const MOST_DOWNS: usize = 1000;

/// How a piece is run: pieces of one way make a trace.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
struct Way {
    rapid: bool,
    sloped: bool,
    /// The height of a level piece, as its bits; none where it is not known or changes.
    level: Option<u64>,
}

/// A trace as it is recorded, mm.
#[derive(Clone, Debug)]
struct Recording {
    way: Way,
    low: Option<f64>,
    places: Vec<[f64; 2]>,
}

/// Watches a program's motions seen from above.
#[derive(Clone, Debug)]
pub(crate) struct PathRecorder {
    traces: Vec<Recording>,
    downs: Vec<Upright>,
    lift: Option<Upright>,
    kept: usize,
    stray: f64,
    simplifier: Simplifier,
    way: Way,
    /// The lowest height of the chord under way.
    low: Option<f64>,
    /// Whether something was cut across since the last lift.
    cut: bool,
}

impl PathRecorder {
    /// For a picture of this plate.
    pub(crate) fn over(plate: &Rect) -> Self {
        let [x, y] = plate.size();
        let stray = FINE * x.max(y).max(1.0);
        Self {
            traces: Vec::new(),
            downs: Vec::new(),
            lift: None,
            kept: 0,
            stray,
            simplifier: Simplifier::within(stray),
            way: Way::default(),
            low: None,
            cut: false,
        }
    }

    /// Every stretch of the path, the ways down, and the last lift.
    pub(crate) fn finish(mut self) -> Recorded {
        self.flush();
        let traces = self.traces.into_iter().map(|t| Trace {
            rapid: t.way.rapid,
            sloped: t.way.sloped,
            low: t.low.map(micrometres),
            spots: t.places.into_iter().map(Spot::at).collect(),
        });
        Recorded {
            traces: traces.collect(),
            downs: self.downs,
            lift: self.lift,
        }
    }

    /// Takes in a straight piece; `heights` are those of its ends, where they are known.
    #[inline]
    #[allow(clippy::float_cmp)]
    pub(crate) fn straight(
        &mut self,
        from: [f64; 2],
        to: [f64; 2],
        heights: [Option<f64>; 2],
        rapid: bool,
    ) {
        if !from.iter().chain(&to).all(|v| v.is_finite()) {
            return;
        }
        if from == to {
            self.upright(from, heights, rapid);
            return;
        }
        self.cut |= !rapid;
        let (level, low) = match heights {
            [Some(a), Some(b)] if a == b => (Some(a.to_bits()), Some(a)),
            [Some(a), Some(b)] => (None, Some(a.min(b))),
            // What is known of one end is not known of the other.
            _ => (None, None),
        };
        let way = Way {
            rapid,
            sloped: level.is_none() && low.is_some(),
            level,
        };
        if way != self.way {
            self.flush();
            self.way = way;
        }
        let chord = self.simplifier.push(from, to, 0.0, 0);
        if let Some(chord) = chord {
            self.keep(chord.from, chord.to);
            self.low = None;
        }
        self.low = match (self.low, low) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
    }

    fn upright(&mut self, at: [f64; 2], heights: [Option<f64>; 2], rapid: bool) {
        match heights {
            [from, Some(to)] if from.is_none_or(|z| z > to) => {
                let down = Upright {
                    at: Spot::at(at),
                    low: micrometres(to),
                    rapid,
                };
                let room = self.downs.len() < MOST_DOWNS;
                self.downs.extend(room.then_some(down));
            }
            // Home is up too, though nobody knows how far.
            [Some(from), to] if self.cut && to.is_none_or(|z| z > from) => {
                self.cut = false;
                self.lift = Some(Upright {
                    at: Spot::at(at),
                    low: micrometres(from),
                    rapid,
                });
            }
            _ => {}
        }
    }

    fn flush(&mut self) {
        if let Some(chord) = self.simplifier.end() {
            self.keep(chord.from, chord.to);
        }
        self.low = None;
    }

    #[allow(clippy::float_cmp)]
    fn keep(&mut self, from: [f64; 2], to: [f64; 2]) {
        match self.traces.last_mut() {
            Some(t) if t.way == self.way && t.places.last() == Some(&from) => {
                t.places.push(to);
                t.low = match (t.low, self.low) {
                    (Some(a), Some(b)) => Some(a.min(b)),
                    (a, b) => a.or(b),
                };
            }
            _ => {
                self.traces.push(Recording {
                    way: self.way,
                    low: self.low,
                    places: vec![from, to],
                });
                self.kept += 1;
            }
        }
        self.kept += 1;
        if self.kept > MOST {
            self.coarsen();
        }
    }

    /// Keeps every second place, ends apart; short traces go first where there are too many.
    fn coarsen(&mut self) {
        self.stray *= 2.0;
        self.simplifier.loosen(self.stray);
        for trace in &mut self.traces {
            let last = trace.places.len().saturating_sub(1);
            let mut n = 0;
            trace.places.retain(|_| {
                n += 1;
                n % 2 == 1 || n - 1 == last
            });
        }
        if self.traces.len() > MOST / 8 {
            let last = self.traces.len() - 1;
            let mut n = 0;
            self.traces.retain(|_| {
                n += 1;
                n % 2 == 1 || n - 1 == last
            });
        }
        self.kept = self.traces.iter().map(|t| t.places.len()).sum();
    }
}

impl Observer for PathRecorder {
    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        let flat = |[x, y, _]: [f64; 3]| [x, y];
        let heights = [Some(cut.from[2]), Some(cut.to[2])];
        PathRecorder::straight(self, flat(cut.from), flat(cut.to), heights, false);
    }

    fn motion(&mut self, motion: &Motion<'_>) {
        let rapid = motion.kind == MotionKind::Rapid;
        let flat = |c: [crate::program::motion::Coord; 3]| Some([c[0].known()?, c[1].known()?]);
        match (motion.kind, motion.arc) {
            (MotionKind::Arc, None) => {}
            (MotionKind::Arc, Some(arc)) => {
                let count = arc.chords(self.stray);
                let place = |n: u32| arc.point(f64::from(n) / f64::from(count));
                for n in 0..count {
                    let [a, b] = [place(n), place(n + 1)];
                    let heights = [Some(a[2]), Some(b[2])];
                    self.straight([a[0], a[1]], [b[0], b[1]], heights, false);
                }
            }
            _ => {
                if let (Some(from), Some(to)) = (flat(motion.from), flat(motion.to)) {
                    let heights = [motion.from[2].known(), motion.to[2].known()];
                    self.straight(from, to, heights, rapid);
                }
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp)]
mod tests {
    use super::{MOST, PathRecorder};
    use crate::scene::Rect;

    #[test]
    fn a_path_of_any_length_is_kept_in_so_many_places_and_keeps_its_ends() {
        let mut recorder = PathRecorder::over(&Rect::between([0.0, 0.0], [100.0, 100.0]));
        let mut at = [1.0, 2.0];
        let mut seed = 7_u32;
        for _ in 0..200_000 {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let to = [
                f64::from(seed >> 22) / 10.24,
                f64::from((seed >> 10) & 1023) / 10.24,
            ];
            recorder.straight(at, to, [Some(0.0); 2], seed.is_multiple_of(97));
            at = to;
        }
        let traces = recorder.finish().traces;
        assert!(traces.iter().map(|t| t.spots.len()).sum::<usize>() <= MOST);
        assert!(traces.iter().all(|t| t.spots.len() >= 2));
        assert_eq!(traces[0].spots[0].mm(), [1.0, 2.0]);
        let end = traces.last().unwrap().spots.last().unwrap().mm();
        assert!((end[0] - at[0]).abs() < 0.001 && (end[1] - at[1]).abs() < 0.001);
    }
}
