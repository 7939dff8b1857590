//! How one asking stands, and which question is next.

use super::answer::Answer;
use super::instance::Instance;
use super::sequence::SequencePosition;
use super::state::{CurrentAnswer, State};
use crate::procedure::model::Kind;
use crate::quantity::moment::Moment;
use crate::quantity::{Quantity, Unit};

/// How one asking stands.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum AnswerStatus {
    /// Answered, and the answer holds.
    Holds,
    /// Never answered.
    Open,
    /// Answered once, and fallen since.
    Fallen {
        /// Because of what.
        because: String,
    },
    /// Answered too long ago.
    Stale {
        /// When.
        since: Moment,
        /// How long the answer holds.
        fresh_for: Quantity,
    },
    /// Answered before the clock went back: how long ago cannot be told, so it counts as too long.
    ClockWentBack,
    /// Answered by somebody else, and asked of the person.
    OtherPerson {
        /// By whom.
        by: String,
    },
    /// Signed over a state that is not this one.
    SignedOtherState,
    /// The cut was started and did not run to its end.
    CutNotFinished {
        /// How it ended.
        how: String,
    },
}

/// What comes next in a run.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Next {
    /// A question, or a value to work out.
    Ask(Instance, AnswerStatus),
    /// A cut is under way.
    Cutting(Instance),
    /// The machine was stopped, and why is to be said; the cut that it ended, if it ended one.
    WhyStopped(Option<Instance>),
    /// The machine is out of service, and is to be put back first.
    OutOfService,
    /// Every pass is used up and skin is left; the last inspection.
    Exhausted(Instance),
    /// All is answered.
    Complete,
}

impl State {
    /// How one place stands at `now`. Whether a cut is still to come decides what can go stale or be asked again.
    pub fn answer_status(
        &self,
        place: &SequencePosition,
        cut_to_come: bool,
        now: Moment,
    ) -> AnswerStatus {
        let at = place.instance();
        let Some(given) = self.answers.get(&at) else {
            return match self.fallen.get(&at) {
                // What fell after the last cut would have been asked for a cut; there is none left to protect.
                Some(_) if !cut_to_come && self.is_for_cutting(place.step) => AnswerStatus::Holds,
                Some(because) => AnswerStatus::Fallen {
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

    /// Every place that is asked with how it stands, history left out.
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

    /// What comes next.
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
        self.answer_statuses(now)
            .into_iter()
            .find(|(_, standing)| *standing != AnswerStatus::Holds)
            .map_or(Next::Complete, |(place, standing)| {
                Next::Ask(place.instance(), standing)
            })
    }
}

/// Whole milliseconds of a time, rounded up.
pub fn milliseconds(time: Quantity) -> i128 {
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

    /// Signed again after a stop, it is the cut that is next, and not the look at a surface that is only cut in part.
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
            // Where the position may be lost, the cut's end is void with the plane that it was made at.
            match how {
                CutEnd::EmergencyStop => assert!(matches!(standing, AnswerStatus::Fallen { .. })),
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
