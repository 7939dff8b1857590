//! A program examined: followed with block delete off and on, judged by every rule, and summed up.

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

/// What the examination comes to, the gravest last.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Verdict {
    /// Nothing known speaks against it.
    Agrees,
    /// Somebody has to look.
    Look,
    /// Some of it cannot be followed, so nothing is said for it.
    CannotVouch,
    /// It must not be run so.
    Stop,
}

impl Verdict {
    /// Its words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Look => "look",
            Self::CannotVouch => "cannot vouch",
            Self::Stop => "stop",
        }
    }
}

/// What a person checks in ten seconds. Millimetres, mm/min, turns a minute.
#[derive(Clone, PartialEq, Debug)]
pub struct Summary {
    /// Units set, in their order.
    pub units: Vec<Units>,
    /// Work offsets cut in.
    pub work_offsets: Vec<WorkOffset>,
    /// Length offsets cut with, 0 for none.
    pub length_offsets: Vec<u32>,
    /// The lowest cut.
    pub min_z: Option<f64>,
    /// What feed moves reach.
    pub extents: Option<Sides>,
    /// The rows, where the path is a raster.
    pub rows: Option<Rows>,
    /// Feeds cut with.
    pub feeds: Vec<f64>,
    /// Speeds cut with.
    pub speeds: Vec<f64>,
    /// Tools changed to.
    pub tools: Vec<u32>,
    /// The end code.
    pub ends_with: Option<u8>,
    /// Lines read.
    pub lines: u64,
    /// Blocks carried out.
    pub blocks: u64,
}

/// A program examined.
#[derive(Clone, Debug)]
pub struct Examination {
    /// What it comes to.
    pub verdict: Verdict,
    /// The summary, with block delete off.
    pub summary: Summary,
    /// Everything found, the gravest first; of each rule the first few.
    pub findings: Vec<Finding>,
    /// Every code found and how often.
    pub counts: Vec<(&'static str, u32)>,
    /// What was not judged, since it is not known.
    pub not_judged: Vec<&'static str>,
    /// How high metal may stand, mm in the program's coordinates, where anything is cut: at or below it a rapid is low.
    pub metal_top: Option<f64>,
}

/// Watches a program by every rule.
#[derive(Debug)]
pub struct Examiner {
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

    fn happening(&mut self, happening: &ProgramEvent<'_>) {
        self.modal.happening(happening, &mut self.found);
        self.end.happening(happening, &mut self.found);
        if happening.what == ProgramEventKind::MachineMove {
            self.height.goes_home();
        }
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        let (rule, detail) = text::broken(fault.kind);
        // Without an end of its own the file is cut off; the end's own rule need not say it again.
        let known = fault.kind == FaultKind::MixedLineEnds;
        if !known {
            self.found
                .add(rule, at, Some(&fault.span), || detail.to_owned());
        }
    }
}

impl Examiner {
    /// Against a set-up.
    pub fn new(setup: Setup) -> Self {
        Self {
            found: FindingList::default(),
            modal: Modal::new(setup),
            height: Height::new(setup),
            extent: Extent::new(setup),
            end: End::default(),
        }
    }

    /// Judges what shows only at the end.
    pub fn finish(&mut self, followed: &Followed, reached: Option<[f64; 2]>) {
        self.end.end(followed, &mut self.found);
        self.height.end(&mut self.found);
        self.extent.end(reached, &mut self.found);
        reach::nothing_cut(self.height.lowest(), &mut self.found);
    }

    /// What was found.
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

/// Examines a program. Where it has blocks with a stroke it is followed both ways, and the graver verdict counts.
pub fn examine<S: Source>(
    source: &mut S,
    dialect: &Dialect,
    setup: &Setup,
) -> Result<Examination, SourceError> {
    examine_with(source, dialect, setup, (&mut NoWatcher, &mut NoWatcher))
}

/// Watches a program beside the rules, and may have measured what of the plate is reached.
pub trait ProgramWatcher: Observer {
    /// What is not reached, in percent and mm2, once the program has been followed; none where it cannot be vouched for.
    fn not_reached(&mut self) -> Option<[f64; 2]>;
}

/// Examines a program while others watch it: the first with block delete off, the second with block delete on where the
/// switch matters.
pub fn examine_with<S: Source, O: ProgramWatcher, P: ProgramWatcher>(
    source: &mut S,
    dialect: &Dialect,
    setup: &Setup,
    (first, second): (&mut O, &mut P),
) -> Result<Examination, SourceError> {
    let mut both = (Examiner::new(*setup), first);
    let followed = follow(source, dialect, PanelSwitches::default(), &mut both)?;
    let (mut examiner, first) = both;
    examiner.finish(&followed, first.not_reached());
    let summary = examiner.summary(&followed);
    let mut verdict = examiner.verdict();
    if let Some(stroke) = &followed.deletable {
        let mut both = (Examiner::new(*setup), second);
        let on = PanelSwitches { block_delete: true };
        let followed = follow(source, dialect, on, &mut both)?;
        let (mut second, watched) = both;
        second.finish(&followed, watched.not_reached());
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
    })
}

/// The codes found with block delete off, without the note on the strokes themselves.
fn without(found: &FindingList) -> Vec<&'static str> {
    let mut codes = found.codes();
    codes.retain(|c| *c != ending::BLOCKS_DELETED.code);
    codes
}

/// Watches nothing.
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
