//! The coverage of a followed program: every cut at depth goes in, and what could not be followed is told.

use super::cover::{Cover, Covered, SAGITTA, Task};
use crate::program::fact::Fact;
use crate::program::motion::{Motion, MotionKind};
use crate::program::observer::Observer;
use crate::program::setting::{Compensation, WorkOffset};

/// Watches a program's cuts.
#[derive(Clone, Debug)]
pub struct CoverWatch {
    cover: Cover,
    offset: Option<Fact<WorkOffset>>,
    doubts: Doubts,
}

/// Cuts that are not in the coverage, or not where they are made: with any of these it cannot be vouched for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Doubts {
    /// Line of the first cut from or to a place that is not known.
    pub unknown: Option<u32>,
    /// Line of the first cut in another work offset than the first cut at depth.
    pub other_offset: Option<u32>,
    /// Line of the first cut under cutter radius compensation, which moves it aside.
    pub compensated: Option<u32>,
}

impl Doubts {
    /// Whether there are any.
    pub fn any(&self) -> bool {
        *self != Self::default()
    }
}

impl CoverWatch {
    /// Over a plate; nothing where the plate has no area or the cutter no flat.
    pub fn new(task: Task) -> Option<Self> {
        Some(Self {
            cover: Cover::new(task)?,
            offset: None,
            doubts: Doubts::default(),
        })
    }

    /// What was reached, and what of that is in doubt.
    pub fn finish(self) -> (Covered, Doubts) {
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
            // A cut whose both Z are known and above the depth does not matter, wherever it is.
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
        let offset = motion.setting.work_offset;
        if *self.offset.get_or_insert(offset) != offset {
            self.doubts.other_offset.get_or_insert(line);
        }
        if let Fact::Known(Compensation::Left | Compensation::Right) = motion.setting.compensation {
            self.doubts.compensated.get_or_insert(line);
        }
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
}
