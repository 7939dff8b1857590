//! The coverage of a followed program: adds every cut at depth, and reports the cuts that could not be followed.

use super::tracker::{Coverage, CoverageTask, CoverageTracker, SAGITTA};
use crate::program::fact::StateFact;
use crate::program::motion::{FileLocation, Motion, MotionKind, Straight};
use crate::program::observer::Observer;
use crate::program::setting::{Compensation, Setting, WorkOffset};

/// Follows the cuts of a program.
#[derive(Clone, Debug)]
pub(crate) struct CoverWatch {
    cover: CoverageTracker,
    offset: Option<StateFact<WorkOffset>>,
    doubts: CoverageGaps,
    /// Whether the modal state of the current steady cuts was already checked.
    state_checked: bool,
}

/// Cuts that are missing from the coverage, or not at their true position: with any of these the coverage is not
/// reliable.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct CoverageGaps {
    /// Line of the first cut from or to an unknown position.
    pub unknown: Option<u32>,
    /// Line of the first cut in a different work offset from the first cut at depth.
    pub other_offset: Option<u32>,
    /// Line of the first cut under cutter radius compensation, which moves the cut sideways.
    pub compensated: Option<u32>,
}

impl CoverageGaps {
    /// Whether there is any such cut.
    pub(crate) fn any(&self) -> bool {
        *self != Self::default()
    }
}

impl CoverWatch {
    /// A watcher for this plate; `None` where the plate has no area or the cutter no flat.
    pub(crate) fn new(task: CoverageTask) -> Option<Self> {
        Some(Self {
            cover: CoverageTracker::new(task)?,
            offset: None,
            doubts: CoverageGaps::default(),
            state_checked: false,
        })
    }

    /// Checks the modal state of a cut at depth.
    fn state(&mut self, setting: &Setting, at: FileLocation<'_>) {
        let offset = setting.work_offset;
        if *self.offset.get_or_insert(offset) != offset {
            self.doubts.other_offset.get_or_insert(at.line);
        }
        if let StateFact::Known(Compensation::Left | Compensation::Right) = setting.compensation {
            self.doubts.compensated.get_or_insert(at.line);
        }
    }

    /// The coverage, and the gaps in what is known of it.
    pub(crate) fn finish(self) -> (Coverage, CoverageGaps) {
        (self.cover.finish(), self.doubts)
    }
}

impl Observer for CoverWatch {
    fn motion(&mut self, motion: &Motion<'_>) {
        if motion.kind == MotionKind::Rapid {
            return;
        }
        let line = motion.at.line;
        let Some([from, to]) = motion.ends() else {
            // A cut whose Z is known at both ends and above the depth does not matter, wherever it is.
            let depth = self.cover.depth();
            let above = [motion.from[2], motion.to[2]]
                .iter()
                .all(|z| z.known().is_some_and(|z| z > depth));
            if !above || motion.kind == MotionKind::Arc {
                self.doubts.unknown.get_or_insert(line);
            }
            return;
        };
        let depth = self.cover.depth();
        if motion.kind == MotionKind::Feed && from[2] > depth && to[2] > depth {
            return;
        }
        self.state(motion.setting, motion.at);
        match (motion.kind, motion.arc) {
            (MotionKind::Arc, None) => {
                self.doubts.unknown.get_or_insert(line);
            }
            (MotionKind::Arc, Some(arc)) => {
                let count = arc.chords(SAGITTA);
                let mut at = from;
                for n in 1..=count {
                    let next = if n == count {
                        to
                    } else {
                        arc.point(f64::from(n) / f64::from(count))
                    };
                    self.cover.straight(at, next, SAGITTA, line);
                    at = next;
                }
            }
            _ => self.cover.straight(from, to, 0.0, line),
        }
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        let depth = self.cover.depth();
        if !cut.steady {
            self.state_checked = false;
        }
        if cut.from[2] > depth && cut.to[2] > depth {
            return;
        }
        if !self.state_checked {
            self.state_checked = true;
            self.state(cut.setting, cut.at);
        }
        self.cover.straight(cut.from, cut.to, 0.0, cut.at.line);
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp)]
mod tests {
    use super::{CoverWatch, CoverageGaps};
    use crate::program::coverage::{Coverage, CoverageTask};
    use crate::program::dialect::Dialect;
    use crate::program::testing::followed;
    use crate::scene::Rect;
    use std::f64::consts::PI;

    fn watched(program: &str, plate: Rect, flat: f64) -> (Coverage, CoverageGaps) {
        let task = CoverageTask {
            plate,
            flat,
            depth: 0.005,
        };
        let watch = CoverWatch::new(task).unwrap();
        followed(program, &Dialect::default(), watch).1.finish()
    }

    // Invented program that is shipped; by hand from its text: 17 rows along X, 7 apart, past every edge.
    #[test]
    fn the_example_program_covers_its_plate() {
        let program = include_str!("../../../checklists/answers/facing-12mm.nc");
        let plate = Rect::between([30.0, 30.0], [270.0, 150.0]);
        let (covered, doubts) = watched(program, plate, 5.8);
        assert_eq!(covered.percent(), 0.0);
        assert!(!doubts.any());
        assert_eq!((covered.passes.count, covered.passes.along_x), (17, true));
        assert_eq!(covered.passes.usual(), Some(7.0));
        // The same program without one row: the step there is 14 and leaves 14 - 11.6 over the whole length.
        let without = program.replace("X21\nY90\nX279\nY97\n", "X21\nY97\n");
        assert_ne!(without, program);
        let (covered, _) = watched(&without, plate, 5.8);
        assert!(covered.percent() > 1.0, "{}", covered.percent());
    }

    // A ring, from plane geometry: 4 pi R r, cut by a full circle in each direction.
    #[test]
    fn a_circle_at_depth_covers_a_ring() {
        for code in ["G2", "G3"] {
            let program = format!(
                "G21 G17 G90 G94 G54\nG0 X70 Y50 Z5\nG1 Z0 F100\n{code} X70 Y50 I-20 J0\nG0 Z5\nM30\n"
            );
            let plate = Rect::between([0.0, 0.0], [100.0, 100.0]);
            let (covered, doubts) = watched(&program, plate, 5.0);
            assert!(!doubts.any());
            let reached = 4.0 * PI * 20.0 * 5.0;
            let away = 10_000.0 - covered.area() - reached;
            assert!(away.abs() < 2.5, "{away}");
        }
    }

    #[test]
    fn cuts_at_unknown_positions_are_reported_with_their_line() {
        let plate = Rect::between([0.0, 0.0], [100.0, 100.0]);
        let start = "G21 G17 G90 G94 G54\nG0 X0 Y0 Z5\nG1 Z0 F100\n";
        let doubts = |rest: &str| watched(&format!("{start}{rest}M30\n"), plate, 5.0).1;
        assert_eq!(doubts("X50\n"), CoverageGaps::default());
        let unknown = doubts("G55\nG1 X50\n").unknown;
        assert_eq!(unknown, Some(5));
        let other = doubts("G55\nG0 X0 Y0 Z5\nG1 Z0\nX50\n").other_offset;
        assert_eq!(other, Some(6));
    }
}
