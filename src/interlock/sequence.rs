//! The order in which steps are asked, with one copy of a repeating phase for each pass so far.

use super::instance::Instance;
use super::state::State;
use super::stopping::CutEnd;
use crate::procedure::model::{CLEAN, Kind, PassRule, SKIN_LEFT};
use crate::procedure::{Phase, Step};

/// One position in the sequence.
#[derive(Clone, Copy, Debug)]
pub struct SequencePosition<'a> {
    /// The phase.
    pub phase: &'a Phase,
    /// The step.
    pub step: &'a Step,
    /// The number of the pass, from 1; `None` outside repeating phases.
    pub pass: Option<u32>,
}

impl SequencePosition<'_> {
    /// The instance at this position.
    pub fn instance(&self) -> Instance {
        Instance::new(&self.step.id, self.pass)
    }
}

impl State {
    /// Every position in the sequence so far, whether its condition is true or not.
    pub(crate) fn sequence(&self) -> Vec<SequencePosition<'_>> {
        let phases = &self.procedure.phases;
        let mut places = Vec::new();
        let mut index = 0;
        while let Some(phase) = phases.get(index) {
            let group: Vec<&Phase> = phases
                .iter()
                .skip(index)
                .take_while(|p| p.each == phase.each && (p.each.is_some() || p.id == phase.id))
                .collect();
            index += group.len().max(1);
            let rule = phase.each.as_deref().and_then(|e| self.procedure.pass(e));
            let numbers: Vec<Option<u32>> = match rule {
                None => vec![None],
                Some(rule) => (1..=self.passes_so_far(rule)).map(Some).collect(),
            };
            for pass in numbers {
                for phase in &group {
                    places.extend(phase.steps.iter().map(|step| SequencePosition {
                        phase,
                        step,
                        pass,
                    }));
                }
            }
        }
        places
    }

    /// The number of passes so far: one, and one more after each pass that left skin.
    fn passes_so_far(&self, rule: &PassRule) -> u32 {
        let Some(until) = &rule.until else {
            return rule.at_most;
        };
        let left = |n: u32| {
            let answer = self.answer(&Instance::new(until, Some(n)));
            answer.and_then(super::answer::Answer::word) == Some(SKIN_LEFT)
        };
        let cleaned = (1..rule.at_most).find(|n| !left(*n));
        cleaned.unwrap_or(rule.at_most)
    }

    /// The pass rule whose repetitions are all used although the surface is not clean, with its last inspection; `None`
    /// if there is none.
    pub(crate) fn exhausted(&self) -> Option<(&PassRule, Instance)> {
        self.procedure.passes.iter().find_map(|rule| {
            let last = Instance::new(rule.until.as_ref()?, Some(rule.at_most));
            let word = self.answer(&last)?.word()?;
            (word != CLEAN).then_some((rule, last))
        })
    }

    /// Whether the step at this position is asked at all, by its condition.
    pub(crate) fn applies(&self, place: &SequencePosition) -> bool {
        let at = place.instance();
        place
            .step
            .when
            .as_ref()
            .is_none_or(|w| self.env(&at).holds(w))
    }

    /// The positions that are asked, in sequence order.
    pub(crate) fn asked(&self) -> Vec<SequencePosition<'_>> {
        let mut places = self.sequence();
        places.retain(|p| self.applies(p));
        places
    }

    /// Whether a cut ran to its end.
    pub fn is_finished(&self, at: &Instance) -> bool {
        self.answer(at).and_then(super::answer::Answer::word) == Some(CutEnd::Finished.word())
    }

    /// For each of `places`: whether a cut that is not finished follows it, and whether a finished one does.
    pub(crate) fn cuts_after(&self, places: &[SequencePosition]) -> Vec<(bool, bool)> {
        let (mut open, mut done) = (false, false);
        let mut found: Vec<(bool, bool)> = places
            .iter()
            .rev()
            .map(|place| {
                let after = (open, done);
                if let Kind::Cut { .. } = place.step.kind {
                    if self.is_finished(&place.instance()) {
                        done = true;
                    } else {
                        open = true;
                    }
                }
                after
            })
            .collect();
        found.reverse();
        found
    }

    /// Whether an instance is history, which can no longer be answered or invalidated: it belongs to a pass that is
    /// cut, or it was only needed for cutting and no cut is left.
    pub(crate) fn is_history(&self, at: &Instance) -> bool {
        let places = self.sequence();
        let after = self.cuts_after(&places);
        places
            .iter()
            .zip(after)
            .filter(|(p, _)| p.step.id == at.step && p.pass == at.pass)
            .any(|(p, cuts)| self.is_past(p, cuts))
    }

    /// As [`State::is_history`], for a position with its result of [`State::cuts_after`].
    pub(super) fn is_past(&self, place: &SequencePosition, (open, done): (bool, bool)) -> bool {
        let cut_since = place.pass.is_some() && (done || self.is_done_cut(place));
        cut_since || (!open && self.is_for_cutting(place.step))
    }

    /// Whether a cut follows the step in the procedure.
    pub(crate) fn is_for_cutting(&self, step: &Step) -> bool {
        self.procedure
            .steps()
            .skip_while(|s| s.id != step.id)
            .skip(1)
            .any(|s| matches!(s.kind, Kind::Cut { .. }))
    }

    fn is_done_cut(&self, place: &SequencePosition) -> bool {
        matches!(place.step.kind, Kind::Cut { .. }) && self.is_finished(&place.instance())
    }
}
