//! The status of each answer, and which question is next.

use super::answer::Answer;
use super::instance::Instance;
use super::sequence::SequencePosition;
use super::state::{CurrentAnswer, State};
use super::timers::awaited;
use crate::procedure::model::Kind;
use crate::quantity::moment::Moment;
use crate::quantity::{Quantity, Unit};

/// The status of the answer to one instance of a step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum AnswerStatus {
    /// Answered, and the answer is valid.
    Holds,
    /// Never answered.
    Open,
    /// Not answered: its timer runs while other questions go on.
    Running {
        /// When the timer began.
        since: Moment,
    },
    /// Answered before, but the answer became invalid.
    Invalidated {
        /// The cause, in words.
        because: String,
    },
    /// Answered too long ago.
    Stale {
        /// When it was answered.
        since: Moment,
        /// How long the answer is valid.
        fresh_for: Quantity,
    },
    /// Answered before the clock went back. How long ago is not known, so it counts as too long ago.
    ClockWentBack,
    /// Answered by another person, but each operator must answer it.
    OtherPerson {
        /// The initials of the person who answered.
        by: String,
    },
    /// Signed over another state than the present one.
    SignedOtherState,
    /// The cut was started and did not run to its end.
    CutNotFinished {
        /// How it ended, in words.
        how: String,
    },
}

/// What is next in a run.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Next {
    /// A question, or a value to compute.
    Ask(Instance, AnswerStatus),
    /// A cut is under way.
    Cutting(Instance),
    /// The machine was stopped and the cause is to be recorded. Holds the cut that the stop ended, if it ended one.
    WhyStopped(Option<Instance>),
    /// The machine is out of service and must be put back first.
    OutOfService,
    /// All passes are used up and skin is left. Holds the last inspection.
    Exhausted(Instance),
    /// Everything is answered.
    Complete,
}

impl State {
    /// The status of one position at `now`. Only while a cut is still to come (`cut_to_come`) can answers become stale
    /// or be asked again.
    pub(crate) fn answer_status(
        &self,
        place: &SequencePosition,
        cut_to_come: bool,
        now: Moment,
    ) -> AnswerStatus {
        let at = place.instance();
        let Some(given) = self.answers.get(&at) else {
            if let Some(since) = self.timer_since(&at, now) {
                return AnswerStatus::Running { since };
            }
            return match self.invalidated.get(&at) {
                // An answer that is only needed for a cut stays valid after the last cut: there is no cut left to
                // protect.
                Some(_) if !cut_to_come && self.is_for_cutting(place.step) => AnswerStatus::Holds,
                Some(because) => AnswerStatus::Invalidated {
                    because: because.clone(),
                },
                None => AnswerStatus::Open,
            };
        };
        match (&place.step.kind, &given.answer) {
            (Kind::Cut { .. }, Answer::Word(how)) if !self.is_finished(&at) => {
                return AnswerStatus::CutNotFinished { how: how.clone() };
            }
            (Kind::Sign { .. }, Answer::Signed { digest, .. })
                if cut_to_come && *digest != self.digest_before(&at) =>
            {
                return AnswerStatus::SignedOtherState;
            }
            _ => {}
        }
        if let (true, Some(seen)) = (cut_to_come, &given.seen) {
            return self.standing_status(place, seen, given.stretch, now);
        }
        if cut_to_come {
            self.person_and_time(place, given, now)
        } else {
            AnswerStatus::Holds
        }
    }

    fn person_and_time(
        &self,
        place: &SequencePosition,
        given: &CurrentAnswer,
        now: Moment,
    ) -> AnswerStatus {
        if place.step.of_person && given.by != self.operator {
            return AnswerStatus::OtherPerson {
                by: given.by.clone(),
            };
        }
        let Some(fresh_for) = place.step.fresh_for else {
            return AnswerStatus::Holds;
        };
        if given.stretch != self.stretch || now < self.latest {
            return AnswerStatus::ClockWentBack;
        }
        match now.since(given.at) {
            None => AnswerStatus::ClockWentBack,
            Some(ms) if i128::from(ms) > milliseconds(fresh_for) => AnswerStatus::Stale {
                since: given.at,
                fresh_for,
            },
            Some(_) => AnswerStatus::Holds,
        }
    }

    /// Every position that is asked with its status, without history.
    pub fn answer_statuses(&self, now: Moment) -> Vec<(SequencePosition<'_>, AnswerStatus)> {
        let places = self.sequence();
        let after = self.cuts_after(&places);
        places
            .into_iter()
            .zip(after)
            .filter(|(place, (_, done))| !(place.pass.is_some() && *done))
            .filter(|(place, _)| self.applies(place))
            .map(|(place, (open, _))| (place, self.answer_status(&place, open, now)))
            .collect()
    }

    /// What is next at `now`.
    pub fn next(&self, now: Moment) -> Next {
        if let Some(cutting) = &self.cutting {
            return Next::Cutting(cutting.at.clone());
        }
        if let Some(stop) = &self.open_stop {
            return Next::WhyStopped(stop.cut.clone());
        }
        if self.out_of_service.is_some() {
            return Next::OutOfService;
        }
        if let Some((_, last)) = self.exhausted() {
            return Next::Exhausted(last);
        }
        let mut running = Vec::new();
        for (place, standing) in self.answer_statuses(now) {
            match standing {
                AnswerStatus::Holds => {}
                AnswerStatus::Running { .. } => running.push((place.instance(), standing)),
                _ => {
                    let timers: Vec<Instance> = running.iter().map(|(of, _)| of.clone()).collect();
                    let awaited = awaited(place.step, &timers);
                    let first = running
                        .into_iter()
                        .find(|(of, _)| Some(of) == awaited.as_ref());
                    let (of, standing) = first.unwrap_or((place.instance(), standing));
                    return Next::Ask(of, standing);
                }
            }
        }
        let first = running.into_iter().next();
        first.map_or(Next::Complete, |(of, standing)| Next::Ask(of, standing))
    }
}

/// A time in whole milliseconds, rounded up.
pub(crate) fn milliseconds(time: Quantity) -> i128 {
    let Some(ms) = Unit::find("ms") else {
        return 0;
    };
    time.in_unit(&ms).map_or(0, crate::quantity::Exact::ceil)
}

#[cfg(test)]
mod tests {
    use super::super::command::Command;
    use super::super::stopping::{Cause, CutEnd};
    use super::super::testing::{TestRun, pass};
    use super::{AnswerStatus, Next};

    /// After a stop and a new sign-off the cut is next, and not the inspection of a surface that is only partly cut.
    #[test]
    fn a_cut_that_did_not_run_to_its_end_is_still_to_be_made() {
        for (how, cause) in [
            (CutEnd::Stopped, Cause::Planned),
            (CutEnd::EmergencyStop, Cause::EmergencyStop),
        ] {
            let mut rig = TestRun::new();
            rig.prepare();
            rig.touch_off();
            rig.rough(1, "0", "0");
            rig.sign(pass("clear", 1)).unwrap();
            rig.release().unwrap();
            rig.start().unwrap();
            rig.go(Command::EndCut {
                how,
                cause,
                said: String::new(),
            });
            if cause.loses_position() {
                rig.touch_off();
                rig.rough(1, "0", "0");
            }
            rig.sign(pass("clear", 1)).unwrap();
            let Next::Ask(of, standing) = rig.state.next(rig.now) else {
                panic!("nothing is asked after {how:?}");
            };
            assert_eq!(of, pass("pass_cut", 1));
            // If the position may be lost, the end of the cut is invalid together with its plane.
            match how {
                CutEnd::EmergencyStop => {
                    assert!(matches!(standing, AnswerStatus::Invalidated { .. }));
                }
                _ => assert_eq!(
                    standing,
                    AnswerStatus::CutNotFinished {
                        how: how.word().into()
                    }
                ),
            }
        }
    }
}
