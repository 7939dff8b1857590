//! Carrying on from the answers file that a run began with: what the record shows as given is dropped from the file, so
//! that a run broken off at any moment goes on with the same file.
//!
//! Worked out from the events and nothing else, since whatever was not recorded is asked again. Words that work at every
//! prompt (`back`, `holds`) leave no event of their own; they are dropped with the answer that follows them, and one
//! whose step was still open is said again.

use crate::interlock::answer::{Answer, Origin};
use crate::interlock::answering::initials;
use crate::interlock::{Cause, Event, Instance, RELEASE_GONE, State};
use crate::procedure::Kind;
use crate::walk::prompts::answers::{Answers, Item, OPERATOR, TAKEN_UP, Typed};
use crate::walk::prompts::commands::COMMANDS;

impl Answers {
    /// Drops what the run has behind it. `first` is the step that chose the machine.
    pub(crate) fn drop_given<'e>(
        &mut self,
        first: Option<&str>,
        state: &State,
        events: impl IntoIterator<Item = &'e Event>,
    ) {
        let mut operators = usize::from(state.left.is_some());
        let mut operator = state.begun.operator.as_str();
        // Sign-offs that no start has spent. They fall when the run is taken up again, and the file signs once more with
        // the same words; where they fall by anything else, it has others.
        let mut unspent: Vec<&Instance> = Vec::new();
        let mut stopped: Option<&Instance> = None;
        for event in events {
            match event {
                Event::Began(_) => {
                    if let Some(first) = first {
                        self.drop_answer(first);
                    }
                }
                Event::Resumed {
                    by,
                    after_crash,
                    kept,
                    ..
                } => {
                    if kept.is_some() {
                        self.drop_answer(TAKEN_UP);
                    }
                    operators += usize::from(!after_crash);
                    if by == operator {
                        unspent.clear();
                    }
                }
                Event::HandedOver { to, .. } => {
                    operator = to;
                    self.drop_spent(&mut unspent, |_| true);
                }
                Event::CutStarted { .. }
                | Event::CutAssumed { .. }
                | Event::PracticeStarted { .. } => {
                    self.drop_spent(&mut unspent, |_| true);
                }
                Event::Voided { steps, because } if because != RELEASE_GONE => {
                    self.drop_spent(&mut unspent, |at| steps.contains(at));
                }
                Event::Answered {
                    at,
                    answer: Answer::Signed { .. },
                    ..
                } => unspent.push(at),
                // Worked out, a value takes an item only where it was accepted.
                Event::Answered {
                    from: Some(Origin::Program),
                    ..
                } => {}
                Event::Answered { at, .. } if !worked_out(state, at) => {
                    self.drop_answer(&at.step);
                }
                Event::Accepted { at, .. } if worked_out(state, at) => {
                    self.drop_answer(&at.step);
                }
                // Why it was stopped stands beside how it ended.
                Event::CutEnded {
                    at,
                    cause: Cause::NotSaid,
                    ..
                } => stopped = Some(at),
                Event::StopExplained { .. } => {
                    if let Some(at) = stopped.take() {
                        self.drop_answer(&at.step);
                    }
                }
                Event::CutEnded { at, .. } => self.drop_answer(&at.step),
                Event::Refused { at, .. } => self.drop_try(&at.step),
                Event::Touched {
                    at, point, closing, ..
                } => self.drop_reading(&at.step, if *closing { "closing" } else { point }),
                _ => {}
            }
        }
        // After a crash goes on who had the run; after a run was left, whoever the file names next, or the same again.
        if let Some(queue) = self.items.get_mut(OPERATOR) {
            let drop = operators.min(queue.len().saturating_sub(1));
            queue.drain(..drop);
        }
        // Whoever goes on signs themselves, and signs for nobody else.
        let next = self.first(OPERATOR).and_then(|said| initials(&said));
        if next.is_some_and(|next| next != state.operator) {
            self.drop_spent(&mut unspent, |_| true);
        }
    }

    fn drop_spent(&mut self, unspent: &mut Vec<&Instance>, spent: impl Fn(&Instance) -> bool) {
        unspent.retain(|at| {
            let spent = spent(at);
            if spent {
                self.drop_answer(&at.step);
            }
            !spent
        });
    }

    /// Drops the answer that was taken, and what was tried or asked before it.
    pub(crate) fn drop_answer(&mut self, step: &str) {
        if let Some(queue) = self.items.get_mut(step) {
            while let Some(item) = queue.pop_front() {
                if !item.refused && !item.is_word() {
                    break;
                }
            }
        }
    }

    /// Drops what was there to be refused, and was; anything else that was refused is the file's fault, and stays.
    fn drop_try(&mut self, step: &str) {
        if let Some(queue) = self.items.get_mut(step) {
            let before = queue.iter().take_while(|item| item.is_word()).count();
            if queue.get(before).is_some_and(|item| item.refused) {
                queue.drain(..=before);
            }
        }
    }

    fn drop_reading(&mut self, step: &str, point: &str) {
        let front = self.items.get_mut(step).and_then(|queue| queue.front_mut());
        if let Some(Typed::Touches(points)) = front.map(|item| &mut item.typed)
            && let Some((_, readings)) = points
                .iter_mut()
                .find(|(name, readings)| name == point && !readings.is_empty())
        {
            readings.pop_front();
        }
    }
}

fn worked_out(state: &State, at: &Instance) -> bool {
    state
        .step(at)
        .is_some_and(|step| matches!(step.kind, Kind::WorkOut { .. }))
}

impl Item {
    /// Whether it is one of the words that work at every prompt.
    fn is_word(&self) -> bool {
        let Typed::Text(text) = &self.typed else {
            return false;
        };
        let first = text.split_whitespace().next().unwrap_or_default();
        COMMANDS
            .iter()
            .any(|(_, word, ..)| first.eq_ignore_ascii_case(word))
    }
}
