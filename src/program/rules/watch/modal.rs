//! Follows the modal state that must be set before a cut: units, zero, feed, speed, spindle, coolant, tool.

use crate::program::fact::{StateFact, UnknownReason};
use crate::program::finding::{FindingList, OwnedLocation};
use crate::program::motion::{FileLocation, Motion, MotionKind, Straight};
use crate::program::program_event::{ProgramEvent, ProgramEventKind};
use crate::program::rules::cutting::{self, ToolCalls};
use crate::program::rules::settings;
use crate::program::setting::{LengthOffset, Units, WorkOffset};
use crate::program::setup::Setup;
use std::collections::BTreeSet;

/// Most different values stored for the summary.
const MOST: usize = 100;

/// Collects modal state.
#[derive(Debug)]
pub(crate) struct Modal {
    setup: Setup,
    /// Whether something changed since a cut was last checked.
    changed: bool,
    /// Feeds of cuts, in hundredths of a mm/min.
    pub feeds: BTreeSet<i64>,
    /// Speeds of cuts, in hundredths of an rpm.
    pub speeds: BTreeSet<i64>,
    /// Work offsets in use at a cut.
    pub offsets: BTreeSet<WorkOffset>,
    /// Length offsets in use at a cut, 0 for none.
    pub lengths: BTreeSet<u32>,
    /// The units that the program sets.
    pub units: Vec<Units>,
    /// The tools that the program changes to.
    pub tools: Vec<u32>,
    /// The diameters that comments name, mm.
    pub(crate) named: Vec<f64>,
    /// The first shift that is left active, or shift or tool change after a cut.
    pub(crate) shifted: Option<OwnedLocation>,
    tool: ToolCalls,
    last_feed: f64,
}

#[allow(clippy::cast_possible_truncation)]
fn hundredths(value: f64) -> i64 {
    (value * 100.0).round() as i64
}

impl Modal {
    /// A watcher for this set-up.
    pub(crate) fn new(setup: &Setup) -> Self {
        Self {
            setup: *setup,
            changed: true,
            feeds: BTreeSet::new(),
            speeds: BTreeSet::new(),
            offsets: BTreeSet::new(),
            lengths: BTreeSet::new(),
            units: Vec::new(),
            tools: Vec::new(),
            named: Vec::new(),
            shifted: None,
            tool: ToolCalls::default(),
            last_feed: f64::NAN,
        }
    }

    /// Receives a motion.
    #[inline]
    pub(crate) fn motion(&mut self, motion: &Motion<'_>, found: &mut FindingList) {
        for coord in &motion.to {
            if let StateFact::Unknown(cause) = coord {
                Self::unknown(cause.why, motion.at, found);
            }
        }
        if motion.kind == MotionKind::Rapid {
            return;
        }
        match motion.feed {
            StateFact::Known(feed) => {
                if feed.to_bits() != self.last_feed.to_bits() {
                    self.last_feed = feed;
                    self.feed(feed, motion.at, found);
                }
            }
            StateFact::Unset => cutting::feed_unset(motion, found),
            StateFact::Unknown(cause) => Self::unknown(cause.why, motion.at, found),
        }
        if self.changed {
            self.changed = false;
            self.cut(motion, found);
        }
        if motion.kind == MotionKind::Arc {
            settings::at_arc(motion, found);
        }
    }

    /// Receives a straight cut. A cut in the same state as the one before brings nothing new.
    #[inline]
    pub(crate) fn straight(&mut self, cut: &Straight<'_>, found: &mut FindingList) {
        if self.changed || !cut.steady {
            self.motion(&cut.motion(), found);
        }
    }

    #[cold]
    fn unknown(why: UnknownReason, at: FileLocation<'_>, found: &mut FindingList) {
        settings::at_unknown(why, at, found);
    }

    /// Handles a cut with another feed than the cut before.
    fn feed(&mut self, feed: f64, at: FileLocation<'_>, found: &mut FindingList) {
        if self.feeds.len() < MOST {
            self.feeds.insert(hundredths(feed));
        }
        cutting::at_feed(feed, &self.setup, at, found);
    }

    /// Handles a cut after a change.
    fn cut(&mut self, cut: &Motion<'_>, found: &mut FindingList) {
        let setting = cut.setting;
        match setting.length_offset {
            StateFact::Known(LengthOffset::Number(number)) => {
                self.lengths.insert(number);
            }
            StateFact::Known(LengthOffset::Cancelled) | StateFact::Unset => {
                self.lengths.insert(0);
            }
            StateFact::Unknown(_) => {}
        }
        if let Some(offset) = setting.work_offset.known() {
            self.offsets.insert(offset);
        }
        cutting::at_cut(cut, self.tool, &self.setup, found);
        settings::at_cut(cut, &self.setup, found);
        if let Some(speed) = setting.speed.known() {
            self.speed(speed, cut, found);
        }
    }

    fn speed(&mut self, speed: f64, cut: &Motion<'_>, found: &mut FindingList) {
        if speed == 0.0 {
            return;
        }
        if self.speeds.len() < MOST {
            self.speeds.insert(hundredths(speed));
        }
        cutting::at_speed(speed, &self.setup, cut.at, found);
        if cut.from[0] != cut.to[0] || cut.from[1] != cut.to[1] {
            cutting::at_cut_across(cut, speed, &self.setup, found);
        } else {
            // Check the next motion across.
            self.changed = true;
        }
    }

    /// Whether an event moves the zero or the tool where a facing program has no reason to: a shift that is not zero, or
    /// any after the first cut.
    fn shifts(&self, event: &ProgramEvent<'_>) -> bool {
        let cut = !self.lengths.is_empty();
        match event.what {
            ProgramEventKind::Shift => {
                let none = |s: &StateFact<f64>| s.is_unset() || *s == StateFact::Known(0.0);
                cut || !event.setting.shift.iter().all(none)
            }
            ProgramEventKind::ToolChange(..) => cut,
            _ => false,
        }
    }

    /// Receives an event.
    pub(crate) fn event(&mut self, event: &ProgramEvent<'_>, found: &mut FindingList) {
        let at = event.at;
        if let ProgramEventKind::Comment { start, end } = event.what {
            let bytes = |n: u32| usize::try_from(n).unwrap_or(usize::MAX);
            let text = at.text.get(bytes(start)..bytes(end)).unwrap_or_default();
            let named = cutting::named_diameter(text, event.setting.units);
            self.named.extend(named.filter(|_| self.named.len() < MOST));
            return cutting::at_comment(named, &self.setup, at, found);
        }
        if self.shifted.is_none() && self.shifts(event) {
            self.shifted = Some(OwnedLocation::of(at));
        }
        self.changed = true;
        match event.what {
            ProgramEventKind::Units(units) => {
                settings::at_unit(units, &self.units, &self.setup, at, found);
                if !self.units.contains(&units) {
                    self.units.push(units);
                }
            }
            ProgramEventKind::ChosenTool(tool) => {
                self.tool.called = tool.known();
            }
            ProgramEventKind::ToolChange(tool, _) => {
                self.tool.changes = self.tool.changes.saturating_add(1);
                cutting::at_tool_change(tool, self.tool, &self.setup, at, found);
                if let Some(tool) = tool.known()
                    && self.tools.len() < MOST
                {
                    self.tools.push(tool);
                }
            }
            ProgramEventKind::Feed(StateFact::Unknown(cause)) => {
                Self::unknown(cause.why, at, found);
            }
            _ => {}
        }
        settings::at_event(event, found);
    }
}
