//! Examines a program: follows it with block delete off and on, judges it by every rule, and summarizes it.

use super::dialect::{Dialect, PanelSwitches};
use super::fault::{Fault, FaultKind};
use super::finding::{Finding, FindingList};
use super::follow::{Followed, follow};
use super::motion::{FileLocation, Motion, Straight};
use super::observer::Observer;
use super::program_event::{ProgramEvent, ProgramEventKind};
use super::rules::Grade;
use super::rules::ending::End;
use super::rules::text;
use super::rules::watch::extent::{Extent, Rows, Sides};
use super::rules::watch::height::Height;
use super::rules::watch::modal::Modal;
use super::rules::{ending, reach};
use super::setting::{Units, WorkOffset};
use super::setup::Setup;
use super::source::{Source, SourceError};
use super::vouched::{Collected, ProgramFacts};

/// The result of an examination, from best to worst.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Verdict {
    /// Nothing that is known contradicts the program.
    Agrees,
    /// A person has to check some findings.
    Look,
    /// Part of the program cannot be followed, so the examination vouches for nothing.
    CannotVouch,
    /// The program must not be run as it is.
    Stop,
}

impl Verdict {
    /// The verdict in words.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Look => "look",
            Self::CannotVouch => "cannot vouch",
            Self::Stop => "stop",
        }
    }
}

/// The summary that a person can check in ten seconds. Lengths in mm, feeds in mm/min, speeds in rpm.
#[derive(Clone, PartialEq, Debug)]
pub struct Summary {
    /// The units that the program sets, in order.
    pub units: Vec<Units>,
    /// The work offsets in use at a cut.
    pub work_offsets: Vec<WorkOffset>,
    /// The length offsets in use at a cut, 0 for none.
    pub length_offsets: Vec<u32>,
    /// Z of the lowest cut.
    pub min_z: Option<f64>,
    /// The extents of the feed moves.
    pub extents: Option<Sides>,
    /// The rows, where the path is a raster.
    pub rows: Option<Rows>,
    /// The feeds of the cuts.
    pub feeds: Vec<f64>,
    /// The speeds of the cuts.
    pub speeds: Vec<f64>,
    /// The tools that the program changes to.
    pub tools: Vec<u32>,
    /// The end code.
    pub ends_with: Option<u8>,
    /// Number of lines read.
    pub lines: u64,
    /// Number of blocks carried out.
    pub blocks: u64,
}

/// The result of examining a program.
#[derive(Clone, Debug)]
pub struct Examination {
    /// The overall verdict.
    pub verdict: Verdict,
    /// The summary of the run with block delete off.
    pub summary: Summary,
    /// All findings, the most serious first; of each rule the first few.
    pub findings: Vec<Finding>,
    /// Every code found, with its number of findings.
    pub counts: Vec<(&'static str, u32)>,
    /// The checks that were not made because a fact is unknown.
    pub not_judged: Vec<&'static str>,
    /// The highest Z at which there may be metal, in mm in the program's coordinates, where anything is cut. A rapid at
    /// or below it is too low.
    pub metal_top: Option<f64>,
    /// The facts that it vouches for, and why not for the others.
    pub facts: ProgramFacts,
}

/// Follows a program and applies every rule.
#[derive(Debug)]
pub(crate) struct Examiner {
    found: FindingList,
    modal: Modal,
    height: Height,
    extent: Extent,
    end: End,
}

impl Observer for Examiner {
    #[inline]
    fn motion(&mut self, motion: &Motion<'_>) {
        self.modal.motion(motion, &mut self.found);
        self.height.motion(motion, &mut self.found);
        self.extent.motion(motion);
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        self.modal.straight(cut, &mut self.found);
        self.height.straight(cut, &mut self.found);
        self.extent.straight(cut);
    }

    fn event(&mut self, event: &ProgramEvent<'_>) {
        self.modal.event(event, &mut self.found);
        self.end.event(event, &mut self.found);
        if event.what == ProgramEventKind::MachineMove {
            self.height.goes_home();
        }
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        let (rule, detail) = text::broken(fault.kind);
        // A file without an end code is reported as cut off; the rule for a missing end code need not report it again.
        let known = fault.kind == FaultKind::MixedLineEnds;
        if !known {
            self.found
                .add(rule, at, Some(&fault.span), || detail.to_owned());
        }
    }
}

impl Examiner {
    /// Watchers for this set-up.
    pub(crate) fn new(setup: &Setup) -> Self {
        Self {
            found: FindingList::default(),
            modal: Modal::new(setup),
            height: Height::new(setup),
            extent: Extent::new(setup),
            end: End::default(),
        }
    }

    /// Applies the rules that can be judged only at the end.
    pub(crate) fn finish(&mut self, followed: &Followed, reached: Option<[f64; 2]>) {
        self.end.end(followed, &mut self.found);
        self.height.end(&mut self.found);
        self.extent.end(reached, &mut self.found);
        reach::nothing_cut(self.height.lowest(), &mut self.found);
    }

    /// The findings so far.
    #[cfg(test)]
    pub(super) fn found(&self) -> &FindingList {
        &self.found
    }

    pub(super) fn verdict(&self) -> Verdict {
        let found = &self.found;
        if found.any(|r| r.grade == Grade::Stop && !r.unsure) {
            Verdict::Stop
        } else if found.any(|r| r.unsure) {
            Verdict::CannotVouch
        } else if found.any(|r| r.grade == Grade::Look) {
            Verdict::Look
        } else {
            Verdict::Agrees
        }
    }

    /// The facts of the program, once it is followed to its end.
    pub(super) fn facts(&mut self, setup: &Setup) -> ProgramFacts {
        let rows = self.extent.rows();
        Collected {
            found: &self.found,
            modal: &self.modal,
            height: &self.height,
            rows,
            end: self.end.code,
            setup,
        }
        .facts()
    }

    pub(super) fn summary(&mut self, followed: &Followed) -> Summary {
        #[allow(clippy::cast_precision_loss)]
        let real =
            |set: &std::collections::BTreeSet<i64>| set.iter().map(|v| *v as f64 / 100.0).collect();
        Summary {
            units: self.modal.units.clone(),
            work_offsets: self.modal.offsets.iter().copied().collect(),
            length_offsets: self.modal.lengths.iter().copied().collect(),
            min_z: self.height.lowest(),
            extents: self.extent.cut(),
            rows: self.extent.rows(),
            feeds: real(&self.modal.feeds),
            speeds: real(&self.modal.speeds),
            tools: self.modal.tools.clone(),
            ends_with: self.end.code,
            lines: followed.lines,
            blocks: followed.blocks,
        }
    }
}

/// Examines a program. A program with block-delete blocks is followed both ways, and the worse verdict counts.
pub fn examine<S: Source>(
    source: &mut S,
    dialect: &Dialect,
    setup: &Setup,
) -> Result<Examination, SourceError> {
    examine_with(source, dialect, setup, (&mut NoWatcher, &mut NoWatcher))
}

/// Follows a program together with the rules, and may measure the uncovered part of the plate.
pub(crate) trait ProgramWatcher: Observer {
    /// The uncovered part, in percent and mm2, after the program was followed; `None` where it is not reliable.
    fn not_reached(&mut self) -> Option<[f64; 2]>;
}

/// Examines a program with additional watchers: `first` follows it with block delete off, `second` with block delete
/// on, where the program has such blocks.
pub(crate) fn examine_with<S: Source, O: ProgramWatcher, P: ProgramWatcher>(
    source: &mut S,
    dialect: &Dialect,
    setup: &Setup,
    (first, second): (&mut O, &mut P),
) -> Result<Examination, SourceError> {
    let mut both = (Examiner::new(setup), first);
    let followed = follow(source, dialect, PanelSwitches::default(), &mut both)?;
    let (mut examiner, first) = both;
    examiner.finish(&followed, first.not_reached());
    let summary = examiner.summary(&followed);
    let mut verdict = examiner.verdict();
    let mut facts = examiner.facts(setup);
    if let Some(stroke) = &followed.deletable {
        let mut both = (Examiner::new(setup), second);
        let on = PanelSwitches { block_delete: true };
        let followed = follow(source, dialect, on, &mut both)?;
        let (mut second, watched) = both;
        second.finish(&followed, watched.not_reached());
        facts = facts.same_as(&second.facts(setup), stroke);
        let at = stroke.at();
        let found = &mut examiner.found;
        found.add(&ending::BLOCKS_DELETED, at, None, String::new);
        if second.verdict() != verdict || second.found.codes() != without(found) {
            found.add(&ending::BLOCK_DELETE, at, None, || {
                format!(
                    "off: {}, on: {} ({})",
                    verdict.word(),
                    second.verdict().word(),
                    second.found.codes().join(", ")
                )
            });
            verdict = match (examiner.verdict(), second.verdict()) {
                (Verdict::Stop, _) | (_, Verdict::Stop) => Verdict::Stop,
                (Verdict::CannotVouch, _) | (_, Verdict::CannotVouch) => Verdict::CannotVouch,
                _ => Verdict::Look,
            };
        }
    }
    let counts = examiner.found.counts();
    Ok(Examination {
        verdict,
        summary,
        findings: examiner.found.sorted(),
        counts,
        not_judged: setup.missing(),
        metal_top: examiner.height.metal_top(),
        facts,
    })
}

/// The codes found with block delete off, without the note about the block-delete blocks themselves.
fn without(found: &FindingList) -> Vec<&'static str> {
    let mut codes = found.codes();
    codes.retain(|c| *c != ending::BLOCKS_DELETED.code);
    codes
}

/// A watcher that does nothing.
struct NoWatcher;

impl ProgramWatcher for NoWatcher {
    fn not_reached(&mut self) -> Option<[f64; 2]> {
        None
    }
}

impl Observer for NoWatcher {
    fn motion(&mut self, _motion: &Motion<'_>) {}

    #[inline]
    fn straight(&mut self, _cut: &Straight<'_>) {}
}
