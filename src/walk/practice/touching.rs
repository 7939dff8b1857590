//! How a demonstration touches: it comes down by eye, reads the columns that are asked for, and begins anew where what holds
//! cutter or plate gave between two touches.

use super::demo::{Demo, Plan, later, mm};
use crate::interlock::touches::{due, series};
use crate::interlock::touching::{DONE, NextTouch};
use crate::interlock::{Instance, State};
use crate::procedure::model::{Kind, Touch};
use crate::procedure::practice::Fact;
use crate::simulator::world::World;
use crate::terminal::prompt::Question;
use crate::walk::session::kinds::touch_line::{AGAIN, TouchColumns, columns};

impl Demo {
    /// Touches a point and reads the columns that are asked for.
    pub(super) fn touch(&mut self, ask: &Question<'_>, world: &World) -> Plan {
        let step = self.procedure.step(&ask.key.step).cloned();
        let (Some(about), Some(Kind::Touch(touch))) = (ask.about, step.map(|s| s.kind)) else {
            return Plan::says("none");
        };
        let begun = about.state.touching.as_ref().filter(|t| t.at == *about.at);
        let read = begun.is_some_and(|t| t.series().last().is_some());
        let held = [Fact::CutterTight, Fact::PlateTight, Fact::EdgesWhole];
        let gave: Vec<Fact> = held
            .into_iter()
            .filter(|f| world.is_so(*f) == Some(false))
            .collect();
        let mut acts = Vec::new();
        if world.is_so(Fact::Homed) == Some(false) {
            acts.push("home".to_owned());
        }
        acts.push("up 10".to_owned());
        let mends = |facts: &[Fact]| -> Vec<String> {
            let lines = facts.iter().flat_map(|f| f.mend());
            lines.map(|l| (*l).to_owned()).collect()
        };
        acts.extend(mends(&gave));
        if !gave.is_empty() && read {
            return Plan {
                acts,
                ..Plan::says(AGAIN)
            };
        }
        if world.is_so(Fact::NoChips) == Some(false) {
            acts.extend(mends(&[Fact::NoChips]));
        }
        let due = due(about.state, about.at).ok();
        let (point, name) = match due {
            Some(NextTouch::Any | NextTouch::Nothing) | None => {
                if read {
                    return Plan::says(DONE);
                }
                let marks = &about.state.marks;
                let left = about.at.pass.is_some_and(|n| n > 1) && world.skin().is_some();
                let surface = marks.surface();
                // Where nothing low is to be found, the tip may stay on any place that is known.
                match surface.heights().points().first() {
                    Some(known) if touch.tip_stays && !left => {
                        (known.point.clone(), format!("{} ", known.point))
                    }
                    _ => {
                        self.lows += 1;
                        let point = if world.skin().is_some() { "skin" } else { "C" };
                        (point.to_owned(), format!("L{} ", self.lows))
                    }
                }
            }
            Some(NextTouch::Point(point) | NextTouch::Zero(point) | NextTouch::Closing(point)) => {
                (point, String::new())
            }
        };
        acts.extend([
            "spindle slow".to_owned(),
            format!("go {point}"),
            "touch".to_owned(),
        ]);
        // A series of its own begins at its first point, and there the readout is zeroed.
        if !read && touch.continues.is_none() {
            acts.push("zero z".to_owned());
        }
        let columns = asked_columns(&touch, about.state, about.at);
        let shows = move |w: &World| {
            let work = mm(w.measured(Fact::WorkZ)?);
            let machine = mm(w.measured(Fact::MachineZ)?);
            Some(match columns {
                TouchColumns::Both => format!("{name}{work};{machine}"),
                TouchColumns::Readout => format!("{name}{work}"),
                TouchColumns::Machine => format!("{name}{machine}"),
            })
        };
        Plan {
            acts,
            ..Plan::new(&[], later(shows, "0"))
        }
    }
}

/// Which columns a touch step asks for now.
fn asked_columns(touch: &Touch, state: &State, at: &Instance) -> TouchColumns {
    let Ok(series) = series(state, at) else {
        return TouchColumns::Readout;
    };
    let first = state.touching.as_ref().is_none_or(|t| t.at != *at);
    columns(touch, series.mode(), first && touch.continues.is_none())
}
