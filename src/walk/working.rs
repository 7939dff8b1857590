//! Values that are worked out: shown with their working, recorded, and held against their limits.

use super::error::WalkError;
use super::listen::Heard;
use super::session::{Flow, Session};
use crate::desk::Part;
use crate::interlock::rests::{Dependence, dependences};
use crate::interlock::{Command, Instance};
use crate::procedure::formula::working;
use crate::procedure::{Kind, Step};
use crate::report::page::{Page, Tone};

impl Session<'_> {
    /// Works a value out and shows how.
    pub(super) fn work_out(&mut self, at: &Instance, step: &Step) -> Result<Flow, WalkError> {
        if let Kind::WorkOut { value, .. } = &step.kind {
            let (env, show) = (self.state.env(at), self.show());
            let mut lines = working::lines(&at.step, value, &env, &show);
            // The result stands beside the title; several values in a row must fit a small screen.
            let result = lines.pop().unwrap_or_default();
            let result = result.trim_start_matches([' ', '=']).to_owned();
            let page = Page::new()
                .toned(Tone::Strong, format!("{}: {result}", step.title))
                .working(lines);
            self.desk.show(&page)?;
        }
        let command = |accept| Command::WorkOut {
            at: at.clone(),
            accept,
        };
        if let Some(flow) = self.give_command(at, "worked out", command)? {
            return Ok(flow);
        }
        self.send_back(at, step)
    }

    /// A value out of its limits is put right where it comes from: names those steps and waits for `back`.
    fn send_back(&mut self, at: &Instance, step: &Step) -> Result<Flow, WalkError> {
        let from: Vec<String> = dependences(step)
            .into_iter()
            .filter_map(|d| match d {
                Dependence::Step(id) => Some(id),
                _ => None,
            })
            .filter(|id| {
                let of = self.state.referred(id, at);
                of.is_some_and(|of| {
                    self.state.answers.contains_key(&of) && !self.state.is_history(&of)
                })
            })
            .collect();
        let steps = if from.is_empty() {
            "a step by its id".to_owned()
        } else {
            from.iter()
                .map(|id| format!("`back {id}`"))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let page = Page::new()
            .toned(
                Tone::Stop,
                "This holds the run. It is worked out, not typed.",
            )
            .next(format!(
                "Put right what it comes from: {steps}. Or `leave`, `end`."
            ));
        self.desk.show(&page)?;
        match self.listen(at, "back STEP", &Part::Answer)? {
            Heard::Flow(flow) => Ok(flow),
            Heard::Said(said) => {
                let why = "a worked-out value cannot be typed; go back to what it comes from";
                self.refuse(at, &said, why)?;
                Ok(Flow::Next)
            }
        }
    }
}
