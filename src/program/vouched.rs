//! The facts of a program that an examination vouches for. A fact is vouched for only where it is certain: nothing that
//! it depends on was lost in any block, and the program has one value for it. Otherwise the reason is given, with the
//! block that caused it.

use super::fact::{StateFact, UnknownReason};
use super::finding::{Finding, FindingList, OwnedLocation};
use super::rules::rule::Rule;
use super::rules::watch::extent::Rows;
use super::rules::watch::height::Height;
use super::rules::watch::modal::Modal;
use super::rules::{cutting, ending, heights, settings, text};
use super::setting::{Units, WorkOffset};
use super::setup::Setup;
use serde::{Deserialize, Serialize};

/// Why the examination cannot vouch for a fact.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DoubtReason {
    /// A block that may change it cannot be followed.
    NotFollowed,
    /// The program does not say it.
    NotSaid,
    /// The program has more than one value for it.
    Several,
    /// The path has no rows along X or Y.
    NoRows,
    /// The set-up lacks what it is computed from.
    SetUpUnknown,
    /// Where the cutter is after a move in machine coordinates is not known.
    HomeUnknown,
    /// It depends on the block delete switch.
    BlockDelete,
}

/// Why the examination cannot vouch for a fact, and the block that caused it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Doubt {
    /// The reason.
    pub why: DoubtReason,
    /// The line of the block that caused it, from 1; `None` where no single block did.
    pub line: Option<u32>,
    /// The text of that block, where it was stored.
    pub block: String,
}

/// A fact, or why the examination cannot vouch for it.
pub type Vouched<T> = Result<T, Doubt>;

/// A finding against a fact that should be so.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Against {
    /// The code of the rule.
    pub code: &'static str,
    /// What is wrong, in a few words.
    pub title: &'static str,
    /// The line, from 1; `None` where it is about the whole program.
    pub line: Option<u32>,
}

/// The facts of a program. Lengths in mm, feeds in mm/min, speeds in rpm.
#[derive(Clone, PartialEq, Debug)]
pub struct ProgramFacts {
    /// The unit that it sets.
    pub unit: Vouched<Units>,
    /// The work offset that it cuts in.
    pub work_offset: Vouched<WorkOffset>,
    /// The length offset that it cuts with, 0 for none.
    pub length_offset: Vouched<u32>,
    /// Z of the lowest cut.
    pub lowest_z: Vouched<f64>,
    /// The highest speed of a cut.
    pub speed: Vouched<f64>,
    /// The highest feed of a cut.
    pub feed: Vouched<f64>,
    /// The widest step between two rows.
    pub step_over: Vouched<f64>,
    /// How far the cutter's rim runs past the plate at the edge where it is least; below zero where it stays short.
    pub overrun: Vouched<f64>,
    /// The diameter of the cutter that a comment names.
    pub cutter: Vouched<f64>,
    /// Whether something speaks against all moves being within the machine's travel.
    pub travel: Vouched<Option<Against>>,
    /// The same against X and Y before Z at the first move down.
    pub first_move: Vouched<Option<Against>>,
    /// The same against a lifted end with the spindle off.
    pub ends: Vouched<Option<Against>>,
    /// The same against leaving offsets, shifts and the tool alone.
    pub shifts: Vouched<Option<Against>>,
}

/// What the watchers of an examination collected.
pub(super) struct Collected<'a> {
    pub(super) found: &'a FindingList,
    pub(super) modal: &'a Modal,
    pub(super) height: &'a Height,
    pub(super) rows: Option<Rows>,
    pub(super) end: Option<u8>,
    pub(super) setup: &'a Setup,
}

impl Doubt {
    fn of(why: DoubtReason) -> Self {
        Self {
            why,
            line: None,
            block: String::new(),
        }
    }

    fn at(why: DoubtReason, finding: &Finding) -> Self {
        Self {
            why,
            line: (finding.line > 0).then_some(finding.line),
            block: finding.text.trim().chars().take(MOST_TEXT).collect(),
        }
    }
}

/// Most characters of a block that are shown with a doubt: they fit a line with its words.
const MOST_TEXT: usize = 40;

/// Rules of which a finding means that any mode may have changed.
const ANY: [&Rule; 3] = [&text::FLOW, &text::UNKNOWN_CODE, &text::COMMENT_CLOSED];
/// Rules of which a finding means that some number is not known.
const NUMBER: [&Rule; 1] = [&text::UNSET_PARAMETER];
/// Rules of which a finding means that the position is not known.
const POSITION: [&Rule; 2] = [&text::NOT_FOLLOWED, &heights::LOST];

/// The largest difference of two diameters in comments that counts as rounding, mm (ours, no source).
const NAMED: f64 = 0.1;

impl Collected<'_> {
    /// The facts, each with what speaks against it.
    pub(super) fn facts(&self) -> ProgramFacts {
        let modes = self.doubt(&[&ANY]);
        let numbers = self.doubt(&[&ANY, &NUMBER]);
        let place = self
            .doubt(&[&ANY, &NUMBER, &POSITION])
            .or_else(|| self.lost());
        let feed = numbers.clone().or_else(|| {
            let other = self.found.first(|r| r == &settings::FEED_MODE)?;
            Some(Doubt::at(DoubtReason::NotFollowed, other))
        });
        let modal = self.modal;
        ProgramFacts {
            unit: certain(modes.as_ref(), || only(modal.units.iter().copied())),
            work_offset: certain(modes.as_ref(), || only(modal.offsets.iter().copied())),
            length_offset: certain(modes.as_ref(), || only(modal.lengths.iter().copied())),
            lowest_z: certain(place.as_ref(), || said(self.height.lowest())),
            speed: certain(numbers.as_ref(), || said(highest(modal.speeds.last()))),
            feed: certain(feed.as_ref(), || said(highest(modal.feeds.last()))),
            step_over: certain(place.as_ref(), || {
                let step = self.rows.and_then(|rows| rows.step);
                step.ok_or(Doubt::of(DoubtReason::NoRows))
            }),
            overrun: certain(place.as_ref(), || {
                let rows = self.rows.ok_or(Doubt::of(DoubtReason::NoRows))?;
                let overrun = self.overrun(rows);
                overrun.ok_or(Doubt::of(DoubtReason::SetUpUnknown))
            }),
            cutter: self.cutter(),
            travel: certain(place.as_ref(), || {
                let known = self.setup.mill.and_then(|m| m.travel).is_some();
                let against = self.against(|r| r.code == "travel");
                known
                    .then_some(against)
                    .ok_or(Doubt::of(DoubtReason::SetUpUnknown))
            }),
            first_move: certain(place.as_ref(), || self.first_move()),
            ends: certain(modes.as_ref(), || self.ends()),
            shifts: certain(
                self.doubt(&[&ANY, &POSITION]).as_ref(),
                || Ok(self.shifts()),
            ),
        }
    }

    /// The first finding of these rules, as a doubt.
    fn doubt(&self, groups: &[&[&Rule]]) -> Option<Doubt> {
        let found = self
            .found
            .first(|rule| groups.concat().iter().any(|r| r.code == rule.code))?;
        Some(Doubt::at(DoubtReason::NotFollowed, found))
    }

    /// A cut to a position that is not known, whose cause is no finding of its own.
    fn lost(&self) -> Option<Doubt> {
        let line = self.height.lost_since()?;
        Some(Doubt {
            line: (line > 0).then_some(line),
            ..Doubt::of(DoubtReason::NotFollowed)
        })
    }

    fn against(&self, is: impl Fn(&Rule) -> bool) -> Option<Against> {
        self.found.first(is).map(|finding| Against {
            code: finding.rule.code,
            title: finding.rule.title,
            line: (finding.line > 0).then_some(finding.line),
        })
    }

    /// How far the rim runs past the edges: by the outermost rows, and by the ends of the shortest row.
    fn overrun(&self, rows: Rows) -> Option<f64> {
        let plate = self.setup.plate?;
        let corner = plate.corner?;
        let radius = self.setup.cutter?.diameter / 2.0;
        let mut reached = [rows.along, rows.across];
        if rows.axis == 1 {
            reached.reverse();
        }
        let mut least = f64::INFINITY;
        for ((side, corner), size) in reached.iter().zip(corner).zip(plate.size) {
            least = least
                .min(corner - (side[0] - radius))
                .min(side[1] + radius - (corner + size));
        }
        least.is_finite().then_some(least)
    }

    fn cutter(&self) -> Vouched<f64> {
        let named = &self.modal.named;
        let (Some(first), true) = (
            named.first(),
            named
                .iter()
                .all(|d| (d - named.first().unwrap_or(d)).abs() <= NAMED),
        ) else {
            let why = if named.is_empty() {
                DoubtReason::NotSaid
            } else {
                DoubtReason::Several
            };
            return Err(Doubt::of(why));
        };
        Ok(*first)
    }

    fn first_move(&self) -> Vouched<Option<Against>> {
        if let Some(found) = self.found.first(|r| r.code == heights::HOME_UNKNOWN.code) {
            return Err(Doubt::at(DoubtReason::HomeUnknown, found));
        }
        if let Some(at) = self.height.slanted() {
            return Ok(Some(Against {
                code: heights::RAPID_DIP.code,
                title: heights::RAPID_DIP.title,
                line: Some(at.at().line),
            }));
        }
        Ok(self.against(|r| [heights::RAPID_DIP.code, heights::FIRST_MOVE.code].contains(&r.code)))
    }

    fn ends(&self) -> Vouched<Option<Against>> {
        let against = [ending::NO_END.code, heights::END_LOW.code];
        if let Some(against) = self.against(|r| against.contains(&r.code)) {
            return Ok(Some(against));
        }
        if self.end.is_none() {
            return Err(Doubt::of(DoubtReason::NotSaid));
        }
        let clear = self.setup.mill.and_then(|m| m.clear_at_home) == Some(true);
        match self.height.last_z() {
            StateFact::Known(_) => Ok(None),
            StateFact::Unknown(cause) if cause.why == UnknownReason::Home && clear => Ok(None),
            StateFact::Unknown(cause) => Err(Doubt {
                why: match cause.why {
                    UnknownReason::Home | UnknownReason::MachineCoordinates => {
                        DoubtReason::HomeUnknown
                    }
                    _ => DoubtReason::NotFollowed,
                },
                line: Some(cause.line),
                block: String::new(),
            }),
            StateFact::Unset => Err(Doubt::of(DoubtReason::NotSaid)),
        }
    }

    fn shifts(&self) -> Option<Against> {
        let rules = [
            settings::OFFSET_WRITTEN.code,
            settings::TOOL_WRITTEN.code,
            settings::SHIFT_ACTIVE.code,
            cutting::TOOL_CHANGE.code,
            ending::DISTANCE_END.code,
        ];
        let left = self.modal.shifted.as_ref().map(|at| Against {
            code: settings::SHIFT_ACTIVE.code,
            title: "a shift, or a tool change, after the first cut",
            line: Some(at.at().line),
        });
        self.against(|r| rules.contains(&r.code)).or(left)
    }
}

impl ProgramFacts {
    /// These facts where `other` has the same, which are those with the block delete switch the other way.
    #[must_use]
    pub(super) fn same_as(self, other: &Self, at: &OwnedLocation) -> Self {
        let at = at.at();
        let doubt = || Doubt {
            line: Some(at.line),
            block: String::from_utf8_lossy(at.text)
                .trim()
                .chars()
                .take(MOST_TEXT)
                .collect(),
            ..Doubt::of(DoubtReason::BlockDelete)
        };
        Self {
            unit: both(self.unit, &other.unit, &doubt),
            work_offset: both(self.work_offset, &other.work_offset, &doubt),
            length_offset: both(self.length_offset, &other.length_offset, &doubt),
            lowest_z: both(self.lowest_z, &other.lowest_z, &doubt),
            speed: both(self.speed, &other.speed, &doubt),
            feed: both(self.feed, &other.feed, &doubt),
            step_over: both(self.step_over, &other.step_over, &doubt),
            overrun: both(self.overrun, &other.overrun, &doubt),
            cutter: both(self.cutter, &other.cutter, &doubt),
            travel: both(self.travel, &other.travel, &doubt),
            first_move: both(self.first_move, &other.first_move, &doubt),
            ends: both(self.ends, &other.ends, &doubt),
            shifts: both(self.shifts, &other.shifts, &doubt),
        }
    }
}

/// A fact where it is the same both ways, and the doubt where it is not.
fn both<T: PartialEq>(
    one: Vouched<T>,
    other: &Vouched<T>,
    doubt: &impl Fn() -> Doubt,
) -> Vouched<T> {
    if one == *other || one.is_err() {
        one
    } else {
        Err(doubt())
    }
}

fn certain<T>(doubt: Option<&Doubt>, fact: impl FnOnce() -> Vouched<T>) -> Vouched<T> {
    match doubt {
        Some(doubt) => Err(doubt.clone()),
        None => fact(),
    }
}

fn said<T>(fact: Option<T>) -> Vouched<T> {
    fact.ok_or(Doubt::of(DoubtReason::NotSaid))
}

/// The only value of these.
fn only<T>(mut values: impl Iterator<Item = T>) -> Vouched<T> {
    match (values.next(), values.next()) {
        (Some(value), None) => Ok(value),
        (None, _) => Err(Doubt::of(DoubtReason::NotSaid)),
        (Some(_), Some(_)) => Err(Doubt::of(DoubtReason::Several)),
    }
}

/// Hundredths as a number.
#[allow(clippy::cast_precision_loss)]
fn highest(hundredths: Option<&i64>) -> Option<f64> {
    hundredths.map(|h| *h as f64 / 100.0)
}
