//! Timers that run while other questions go on: a wait step with `in background: yes`.
//!
//! A timer begins when its step is reached, and nothing is asked. Its step stays unanswered, so it holds cycle start, until
//! the time has run; then it is answered by the clock. A sign-off, a cut, and every step that depends on the wait come after
//! it. A stop, a changed machine and a clock that went back end a timer: it begins anew, because nobody knows how long the
//! machine really ran.

use super::answer_status::{AnswerStatus, milliseconds};
use super::answering::waited;
use super::decide::Decided;
use super::dependencies::{Dependency, dependencies};
use super::event::Event;
use super::instance::Instance;
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::state::State;
use crate::procedure::{Kind, Step};
use crate::quantity::moment::Moment;
use crate::quantity::{Dimension, Exact, Quantity};

/// A timer that runs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Timer {
    /// When it began.
    pub(crate) since: Moment,
    /// The stretch of the clock in which it began; see [`State::stretch`].
    pub(crate) stretch: u32,
}

/// Which of these running timers a step must wait for: the first, for a sign-off or a cut; else one that it depends on.
pub(crate) fn awaited(step: &Step, running: &[Instance]) -> Option<Instance> {
    if running.is_empty() {
        return None;
    }
    if matches!(step.kind, Kind::Sign { .. } | Kind::Cut { .. }) {
        return running.first().cloned();
    }
    let on = dependencies(step);
    let depends = |of: &&Instance| on.contains(&Dependency::Step(of.step.clone()));
    running.iter().find(depends).cloned()
}

impl State {
    pub(super) fn timer_began(&mut self, of: &Instance, at: Moment) {
        let timer = Timer {
            since: at,
            stretch: self.stretch,
        };
        self.timers.insert(of.clone(), timer);
    }

    /// When the timer of a step began; none where it does not run, or began before the clock went back.
    pub(crate) fn timer_since(&self, of: &Instance, now: Moment) -> Option<Moment> {
        let timer = self.timers.get(of)?;
        (timer.stretch == self.stretch && timer.since <= now).then_some(timer.since)
    }

    /// Every timer that runs, with the time it still needs in milliseconds, 0 where it has run its time.
    pub(crate) fn running_timers(&self, now: Moment) -> Vec<(Instance, i128)> {
        self.answer_statuses(now)
            .into_iter()
            .filter(|(_, standing)| matches!(standing, AnswerStatus::Running { .. }))
            .filter_map(|(place, _)| {
                let at = place.instance();
                let left = milliseconds(self.time_of(&at)?) - self.elapsed(&at, now)?;
                Some((at, left.max(0)))
            })
            .collect()
    }

    /// Milliseconds that a timer has run.
    fn elapsed(&self, of: &Instance, now: Moment) -> Option<i128> {
        now.since(self.timer_since(of, now)?).map(i128::from)
    }

    fn time_of(&self, of: &Instance) -> Option<Quantity> {
        match &self.step(of)?.kind {
            Kind::Wait { time, .. } => self.env(of).quantity(time).ok(),
            _ => None,
        }
    }
}

/// Begins the timer of a step that is next.
pub(super) fn begin(state: &State, place: &SequencePosition, standing: &AnswerStatus) -> Decided {
    let background = matches!(
        place.step.kind,
        Kind::Wait {
            in_background: true,
            ..
        }
    );
    if !background || matches!(standing, AnswerStatus::Holds | AnswerStatus::Running { .. }) {
        return Err(Refusal::WrongKind);
    }
    Ok(vec![Event::TimerBegan {
        at: place.instance(),
        from: Some(state.origin),
    }])
}

/// Answers a step by its timer, where the time has run.
pub(super) fn finish(state: &State, at: &Instance, now: Moment) -> Decided {
    let (Some(elapsed), Some(wanted)) = (state.elapsed(at, now), state.time_of(at)) else {
        return Err(Refusal::NotAsked(at.clone()));
    };
    let ran = if elapsed >= milliseconds(wanted) {
        wanted
    } else {
        Quantity {
            amount: Exact::whole(i64::try_from(elapsed / 1000).unwrap_or(0)),
            dimension: Dimension::TIME,
        }
    };
    waited(state, at, ran, wanted, false, None)
}

#[cfg(test)]
mod tests {
    use super::super::answer_status::{AnswerStatus, Next};
    use super::super::command::Command;
    use super::super::custody;
    use super::super::refusal::Refusal;
    use super::super::state::State;
    use super::super::testing::{SMALL, TestRun, at, pass};
    use crate::interlock::Instance;

    /// The small procedure, its warm-up of 60 seconds in the background.
    fn in_background(more: &str) -> TestRun {
        let wait = "for: machine.warm_up\n";
        assert!(SMALL.contains(wait));
        let text = SMALL.replace(wait, "for: 60 s\n        in background: yes\n");
        let program = "rests on: [cutter]\n  - phase: touch_off";
        assert!(text.contains(program));
        let touches = "rests on: [cutter, home, warm, plate]";
        assert!(text.contains(touches));
        let text = text.replace(touches, "rests on: [cutter, home, plate]");
        TestRun::of(&text.replace(
            program,
            &format!("rests on: [cutter{more}]\n  - phase: touch_off"),
        ))
    }

    fn to_the_wait(rig: &mut TestRun) {
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("plate"), "bed-a").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), "homed").unwrap();
        rig.number(at("speed"), "3000 rpm").unwrap();
        assert_eq!(
            rig.state.next(rig.now),
            Next::Ask(at("warm"), AnswerStatus::Open)
        );
        rig.go(Command::BeginTimer { at: at("warm") });
    }

    fn asked(rig: &TestRun) -> Instance {
        match rig.state.next(rig.now) {
            Next::Ask(of, _) => of,
            other => panic!("{other:?}"),
        }
    }

    fn finish(rig: &mut TestRun) -> Result<(), Refusal> {
        rig.try_do(Command::FinishTimer { at: at("warm") })
            .map(drop)
    }

    #[test]
    fn questions_go_on_while_a_timer_runs_and_the_sign_off_waits_for_it() {
        let mut rig = in_background("");
        to_the_wait(&mut rig);
        assert_eq!(asked(&rig), at("nc"));
        rig.load_program();
        rig.touch_off();
        rig.rough(1, "0", "0");
        assert_eq!(asked(&rig), at("warm"));
        assert!(
            matches!(rig.sign(pass("clear", 1)), Err(Refusal::OutOfOrder { next, .. }) if next == at("warm"))
        );
        assert!(matches!(finish(&mut rig), Err(Refusal::TooShort { .. })));
        rig.pass_time(60_000);
        finish(&mut rig).unwrap();
        assert_eq!(asked(&rig), pass("clear", 1));
        rig.sign(pass("clear", 1)).unwrap();
        rig.release().unwrap();
    }

    #[test]
    fn a_step_that_depends_on_the_wait_comes_after_it() {
        let mut rig = in_background(", warm");
        to_the_wait(&mut rig);
        assert_eq!(asked(&rig), at("warm"));
        rig.number(at("warm"), "60 s").unwrap();
        assert_eq!(asked(&rig), at("nc"));
    }

    #[test]
    fn the_time_counts_from_the_stored_moment_and_not_while_the_clock_goes_back() {
        let mut rig = in_background("");
        to_the_wait(&mut rig);
        // What a crash leaves: the events alone.
        let begun = rig.now;
        let mut again = State::new(
            rig.state.procedure.clone(),
            rig.state.shop.clone(),
            rig.state.begun.clone(),
            rig.state.began,
        );
        for event in &rig.events {
            again.apply(begun, event);
        }
        assert!(again.timer_since(&at("warm"), begun).is_some());

        rig.pass_time(-30_000);
        rig.word(at("eyes"), "worn").unwrap();
        // The clock went back: nobody knows how long it ran, so it begins anew.
        assert_eq!(asked(&rig), at("warm"));
        rig.pass_time(600_000);
        assert!(finish(&mut rig).is_err());
        rig.go(Command::BeginTimer { at: at("warm") });
        rig.pass_time(60_000);
        finish(&mut rig).unwrap();
    }

    #[test]
    fn a_stop_ends_a_timer() {
        let mut rig = in_background("");
        to_the_wait(&mut rig);
        for event in custody::stop(&rig.state, super::super::stopping::Cause::Planned, "belt") {
            rig.state.apply(rig.now, &event);
        }
        rig.pass_time(60_000);
        assert!(finish(&mut rig).is_err());
        assert_eq!(asked(&rig), at("warm"));
    }
}
