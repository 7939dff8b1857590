//! A demonstration: somebody who knows the work walks a rehearsal by themselves. Sees the faults in the way, holds, clears
//! them in order, and answers what is so. Knows the built-in procedure.

use super::foresight::look_first;
use super::truth::{Truth, number, truth};
use crate::interlock::Cause;
use crate::procedure::Procedure;
use crate::procedure::model::Kind;
use crate::simulator::Nm;
use crate::simulator::words::length;
use crate::simulator::world::World;
use crate::terminal::prompt::{PromptError, QuestionPart};
use std::sync::Arc;

/// What a demonstration says.
pub enum Answer {
    /// This.
    Said(String),
    /// What is read once its acts are done.
    Later(Box<dyn Fn(&World) -> String>),
}

/// A demonstration.
#[derive(Debug)]
pub struct Demo {
    procedure: Arc<Procedure>,
    /// The question asked last, and how often in a row.
    last: (String, String, usize),
    lows: usize,
    sent_back: usize,
}

/// Asked so often in a row, a question is one that this demonstration cannot answer.
const STUCK: usize = 6;

/// The first point of the built-in procedure's series.
const FIRST: &str = "SW";

type Plan = (Vec<String>, Answer);

pub(super) fn said(text: impl Into<String>) -> Answer {
    Answer::Said(text.into())
}

pub(super) fn later(read: impl Fn(&World) -> String + 'static) -> Answer {
    Answer::Later(Box::new(read))
}

pub(super) fn mm(nm: Nm) -> String {
    format!("{} mm", length(nm, crate::quantity::UnitSystem::Mm))
}

fn work_z(world: &World) -> String {
    mm(world.mill.work()[2])
}

fn both(world: &World) -> String {
    format!(
        "{};{}",
        work_z(world),
        mm(world.mill.rounded(world.mill.machine[2]))
    )
}

impl Demo {
    /// A demonstration of a procedure.
    pub fn new(procedure: Arc<Procedure>) -> Self {
        Self {
            procedure,
            last: (String::new(), String::new(), 0),
            lows: 0,
            sent_back: 0,
        }
    }

    /// What is done at the mill and said at a question.
    ///
    /// # Errors
    /// Where the same question comes again and again.
    pub fn answers(
        &mut self,
        step: &str,
        part: &QuestionPart,
        world: &World,
        told: &str,
    ) -> Result<Plan, PromptError> {
        let of = (step.to_owned(), part.to_string());
        let again = if (&self.last.0, &self.last.1) == (&of.0, &of.1) {
            self.last.2 + 1
        } else {
            0
        };
        self.last = (of.0, of.1, again);
        if again >= STUCK {
            return Err(PromptError::Disagrees(format!(
                "the demonstration finds no answer to the step `{step}`; the question stands above"
            )));
        }
        Ok(self.plan(step, part, world, told))
    }

    fn plan(&mut self, step: &str, part: &QuestionPart, world: &World, told: &str) -> Plan {
        match part {
            QuestionPart::Initials(_) if !world.place.door && step != "closing_sign" => {
                return (acts(&["look", "hold the door", "door shut"]), said("DEMO"));
            }
            QuestionPart::Operator | QuestionPart::Resume | QuestionPart::Initials(_) => {
                return (Vec::new(), said("DEMO"));
            }
            QuestionPart::Code(code) => return (Vec::new(), said(code.clone())),
            QuestionPart::Started => return (acts(&["start"]), said("started")),
            QuestionPart::Ended => return (Vec::new(), said("finished")),
            QuestionPart::Cause => return (Vec::new(), said(Cause::EmergencyStop.word())),
            QuestionPart::Accept => {
                return (
                    Vec::new(),
                    said("read twice on the practice mill, it is so"),
                );
            }
            QuestionPart::Zeroed(_) => return (acts(&["zero z"]), said("0")),
            QuestionPart::Other(name) if name == "near" => return (Vec::new(), said("unknown")),
            QuestionPart::Other(name) if name == "closing" => {
                return Self::touch(FIRST, world, "", false);
            }
            QuestionPart::Point(name) if name.is_empty() => return self.low(world),
            // A series begins at its first point, and there the readout is zeroed.
            QuestionPart::Point(name) => return Self::touch(name, world, "", name == FIRST),
            QuestionPart::ReadBack => return entry(world, told),
            _ => {}
        }
        if world.mill.stopped && step != "estop_tested" {
            return (Vec::new(), said("stop the red key was knocked"));
        }
        let Some((acts, answer)) = look_first(step, world) else {
            return self.answer(step, world);
        };
        let answer = answer.unwrap_or_else(|| self.by_kind(step, world).1);
        (acts, answer)
    }

    /// Touches a point and reads both columns.
    fn touch(point: &str, world: &World, name: &str, zero: bool) -> Plan {
        if !world.place.cutter {
            let acts = acts(&["up 10", "spindle off", "tighten cutter"]);
            return (acts, said("again"));
        }
        let mut acts = vec!["up 10".to_owned()];
        if world.place.chips {
            acts.extend(["spindle off".to_owned(), "brush".to_owned()]);
        }
        acts.push(format!("spindle {}", touch_speed(world)));
        acts.extend([format!("go {point}"), "near".to_owned(), "touch".to_owned()]);
        if zero {
            acts.push("zero z".to_owned());
        }
        let name = name.to_owned();
        (
            near(acts, world),
            later(move |w| format!("{name}{}", both(w))),
        )
    }

    fn low(&mut self, world: &World) -> Plan {
        self.lows += 1;
        if self.lows.is_multiple_of(2) || world.skin().is_none() {
            return (Vec::new(), said("done"));
        }
        let name = format!("L{} ", self.lows);
        Self::touch("skin", world, &name, false)
    }

    fn answer(&mut self, step: &str, world: &World) -> Plan {
        let step_size = world.mill.limits.resolution;
        let nothing = Vec::new;
        match step {
            "warm_up" => {
                let minutes = world.mill.limits.warm_up / 60;
                let speed = world.mill.limits.speeds[1].min(3000);
                let acts = vec![
                    "door shut".to_owned(),
                    format!("spindle {speed}"),
                    format!("wait {minutes}"),
                    "spindle off".to_owned(),
                ];
                (acts, said(format!("{minutes} min")))
            }
            "touch_speed" => {
                let speed = touch_speed(world);
                (
                    vec![format!("spindle {speed}")],
                    said(format!("{speed} rpm")),
                )
            }
            "jog_step" => (
                vec![format!("step {}", mm(step_size).trim_start_matches('+'))],
                said(mm(step_size)),
            ),
            "zero_way" => (nothing(), said("running")),
            "program_feed" => (nothing(), said("600 mm/min")),
            "low_places" => {
                let any = world.skin().is_some();
                (nothing(), said(if any { "touch" } else { "none" }))
            }
            "clearance" => (nothing(), said("0.1 mm")),
            "skim" => (nothing(), said("0.08 mm")),
            "finish_override" => (acts(&["feed 60"]), said("60 %")),
            "override_after" => (acts(&["feed 100"]), said("100 %")),
            "proof" => (nothing(), said("indicator")),
            "remarks" => (nothing(), said("A rehearsal by demonstration.")),
            "rough_standing" | "finish_standing" => {
                let (acts, _) = Self::touch("C", world, "", false);
                (acts, later(work_z))
            }
            "rough_look" | "finish_look" => (nothing(), said(work_z(world))),
            _ => self.by_kind(step, world),
        }
    }

    fn by_kind(&mut self, step: &str, world: &World) -> Plan {
        let found = truth(step, &QuestionPart::Answer, world).or_else(|| number(step, world));
        match found {
            Some(Truth::Word(word)) => return (Vec::new(), said(word)),
            Some(Truth::Length(nm, _)) => return (Vec::new(), said(mm(nm))),
            Some(Truth::Whole(n)) => {
                let unit = if step.ends_with("speed") { " rpm" } else { "" };
                return (Vec::new(), said(format!("{n}{unit}")));
            }
            Some(Truth::Holds(..)) | None => {}
        }
        match self.procedure.step(step).map(|s| &s.kind) {
            Some(Kind::Confirm { answer, .. }) => (Vec::new(), said(answer.clone())),
            Some(Kind::WorkOut { .. }) => {
                // Out of its limits: what it comes from is read again.
                self.sent_back += 1;
                let to = if step == "touched_drift" || self.sent_back > 3 {
                    "corners"
                } else {
                    "clearance"
                };
                (Vec::new(), said(format!("back {to}")))
            }
            _ => (Vec::new(), said("none")),
        }
    }
}

fn acts(words: &[&str]) -> Vec<String> {
    words.iter().map(|w| (*w).to_owned()).collect()
}

fn touch_speed(world: &World) -> i64 {
    world.mill.limits.speeds[0].max(300)
}

/// Puts in how far it goes down by eye before the steps begin: three tenths above the metal of the point it goes to.
fn near(acts: Vec<String>, world: &World) -> Vec<String> {
    let mut trial = world.clone();
    let mut done = Vec::new();
    for act in acts {
        if act != "near" {
            trial.act(&act);
            done.push(act);
            continue;
        }
        if let Some(gap) = trial.gap().filter(|gap| *gap > 600_000) {
            let down = (gap - 400_000) / 100_000 * 100_000;
            let act = format!("down {}", mm(down).trim_start_matches('+'));
            trial.act(&act);
            done.push(act);
        }
    }
    done
}

/// Types into the readout what was told, as a person reads it off the screen.
fn entry(world: &World, told: &str) -> Plan {
    let value = told
        .strip_prefix("Type ")
        .and_then(|rest| rest.split(" into ").next())
        .and_then(|both| both.split(['(', '=']).next())
        .unwrap_or("0")
        .trim()
        .to_owned();
    let _ = world;
    (vec![format!("set z {value}")], later(work_z))
}
