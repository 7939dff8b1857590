//! Keeps a program's path for a picture, as finely as a picture shows it, and never more of it than a set number of
//! places.

use super::view::{Spot, Trace};
use crate::program::coverage::Frame;
use crate::program::coverage::simplify::Simplifier;
use crate::program::motion::{Motion, MotionKind, Straight};
use crate::program::observer::Observer;

/// Most places kept.
const MOST: usize = 20_000;
/// How far the picture may stray from the path at first, as a share of the plate's longer side.
const FINE: f64 = 0.0005;

/// Watches a program's motions seen from above.
#[derive(Clone, Debug)]
pub struct PathRecorder {
    traces: Vec<(bool, Vec<[f64; 2]>)>,
    kept: usize,
    stray: f64,
    simplifier: Simplifier,
    rapid: bool,
}

impl PathRecorder {
    /// For a picture of this plate.
    pub fn over(plate: &Frame) -> Self {
        let [x, y] = plate.size();
        let stray = FINE * x.max(y).max(1.0);
        Self {
            traces: Vec::new(),
            kept: 0,
            stray,
            simplifier: Simplifier::within(stray),
            rapid: false,
        }
    }

    /// Every stretch of the path, in the order of execution.
    pub fn finish(mut self) -> Vec<Trace> {
        self.flush();
        self.traces
            .into_iter()
            .map(|(rapid, places)| Trace {
                rapid,
                spots: places.into_iter().map(Spot::at).collect(),
            })
            .collect()
    }

    /// Takes in a straight piece.
    #[inline]
    pub fn straight(&mut self, from: [f64; 2], to: [f64; 2], rapid: bool) {
        #[allow(clippy::float_cmp)]
        if from == to || !from.iter().chain(&to).all(|v| v.is_finite()) {
            return;
        }
        if rapid != self.rapid {
            self.flush();
            self.rapid = rapid;
        }
        if let Some(chord) = self.simplifier.push(from, to, 0.0, 0) {
            self.keep(chord.from, chord.to);
        }
    }

    fn flush(&mut self) {
        if let Some(chord) = self.simplifier.end() {
            self.keep(chord.from, chord.to);
        }
    }

    #[allow(clippy::float_cmp)]
    fn keep(&mut self, from: [f64; 2], to: [f64; 2]) {
        match self.traces.last_mut() {
            Some((rapid, places)) if *rapid == self.rapid && places.last() == Some(&from) => {
                places.push(to);
            }
            _ => {
                self.traces.push((self.rapid, vec![from, to]));
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
        for (_, places) in &mut self.traces {
            let last = places.len().saturating_sub(1);
            let mut n = 0;
            places.retain(|_| {
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
        self.kept = self.traces.iter().map(|(_, places)| places.len()).sum();
    }
}

impl Observer for PathRecorder {
    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        let flat = |[x, y, _]: [f64; 3]| [x, y];
        PathRecorder::straight(self, flat(cut.from), flat(cut.to), false);
    }

    fn motion(&mut self, motion: &Motion<'_>) {
        let rapid = motion.kind == MotionKind::Rapid;
        let flat = |c: [crate::program::motion::Coord; 3]| Some([c[0].known()?, c[1].known()?]);
        match (motion.kind, motion.arc) {
            (MotionKind::Arc, None) => {}
            (MotionKind::Arc, Some(arc)) => {
                let count = arc.chords(self.stray);
                let place = |n: u32| {
                    let [x, y, _] = arc.point(f64::from(n) / f64::from(count));
                    [x, y]
                };
                for n in 0..count {
                    self.straight(place(n), place(n + 1), false);
                }
            }
            _ => {
                if let (Some(from), Some(to)) = (flat(motion.from), flat(motion.to)) {
                    self.straight(from, to, rapid);
                }
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp)]
mod tests {
    use super::{MOST, PathRecorder};
    use crate::program::coverage::Frame;

    #[test]
    fn a_path_of_any_length_is_kept_in_so_many_places_and_keeps_its_ends() {
        let mut recorder = PathRecorder::over(&Frame::between([0.0, 0.0], [100.0, 100.0]));
        let mut at = [1.0, 2.0];
        let mut seed = 7_u32;
        for _ in 0..200_000 {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let to = [
                f64::from(seed >> 22) / 10.24,
                f64::from((seed >> 10) & 1023) / 10.24,
            ];
            recorder.straight(at, to, seed.is_multiple_of(97));
            at = to;
        }
        let traces = recorder.finish();
        assert!(traces.iter().map(|t| t.spots.len()).sum::<usize>() <= MOST);
        assert!(traces.iter().all(|t| t.spots.len() >= 2));
        assert_eq!(traces[0].spots[0].mm(), [1.0, 2.0]);
        let end = traces.last().unwrap().spots.last().unwrap().mm();
        assert!((end[0] - at[0]).abs() < 0.001 && (end[1] - at[1]).abs() < 0.001);
    }
}
