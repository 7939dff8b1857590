//! Running a program: cycle start, feed hold, the emergency stop.
#![allow(clippy::unnecessary_wraps)] // every word's deed has one type

use super::cutter::root;
use super::tape::{Block, Tape};
use super::words::length;
use super::world::{Mood, Passed, Said, Stored, What, World};
use super::{MM, Nm};

/// How a stretch of running ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Ran {
    /// The program came to its end.
    Ended,
    /// The time given is used up, or one block is done in single block: it is held.
    Held,
    /// Something stopped it.
    Crashed,
}

pub(super) fn load(world: &mut World, name: &str) -> Result<Vec<Said>, String> {
    let name = if name.eq_ignore_ascii_case("sheet") {
        world.facts.program.clone()
    } else {
        name.to_owned()
    };
    let found = world
        .store
        .iter()
        .find(|p| p.name.eq_ignore_ascii_case(&name));
    let Some(Stored { name, text, .. }) = found.cloned() else {
        let known: Vec<&str> = world.store.iter().map(|p| p.name.as_str()).collect();
        return Err(format!("the control holds {}", known.join(" and ")));
    };
    let tape = Tape::read(&name, &text).map_err(|e| format!("{name} cannot be run: {e}"))?;
    world.tape = Some(tape);
    world.block = 0;
    Ok(vec![Said::plain(format!("{name} is loaded."))])
}

pub(super) fn start(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    world.ready()?;
    if world.tape.is_none() {
        return Err("no program is loaded; `load` one".to_owned());
    }
    let mut seen = Vec::new();
    if !world.released {
        world.happen(What::Unreleased, 0);
        seen.push(Said::bad(
            "The walk has not released cycle start. The mill does not know that.",
        ));
    }
    if world.block == 0 {
        world.begin_pass();
    }
    world.running = true;
    Ok(seen)
}

pub(super) fn hold(world: &mut World, what: &str) -> Result<Vec<Said>, String> {
    world.running = false;
    let mut any = false;
    for running in world
        .drills
        .iter_mut()
        .filter(|d| d.begun && d.end.is_none())
    {
        running.held = true;
        any = true;
    }
    if !any {
        world.false_alarms += 1;
    }
    let what = if what.is_empty() {
        String::new()
    } else {
        format!(" You say: {what}.")
    };
    Ok(vec![Said::plain(format!("Feed hold.{what}"))])
}

pub(super) fn emergency(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    world.happen(What::EmergencyStop, 0);
    Ok(world.press_stop())
}

impl World {
    /// Presses the emergency stop: everything stands, and where it stands is in doubt.
    pub(crate) fn press_stop(&mut self) -> Vec<Said> {
        self.running = false;
        self.mill.spindle = 0;
        self.mill.coolant = false;
        self.mill.stopped = true;
        self.mill.homed = false;
        // Steps are lost when the drives fall off.
        let lost = 350_000;
        self.mill.astray[2] -= lost;
        self.block = 0;
        self.place.stop_tried = true;
        vec![Said::plain("Everything stops with a thud.")]
    }

    fn begin_pass(&mut self) {
        self.judge_cut();
        self.pass = Some(Passed {
            deepest: 0,
            volume: 0,
            cleaned: 0,
            lowest: 0,
            feed: self.mill.feed,
        });
        self.taken = 0;
    }

    /// How long the loaded program still runs, in milliseconds.
    pub(crate) fn run_time(&self) -> i64 {
        self.tape
            .as_ref()
            .map_or(0, |t| t.milliseconds(self.mill.feed.max(1)))
    }

    /// Runs the program for so many milliseconds of its own time.
    pub(crate) fn run(&mut self, milliseconds: i64) -> (Ran, Vec<Said>) {
        let mut left = milliseconds;
        let mut seen = Vec::new();
        loop {
            let next = self
                .tape
                .as_ref()
                .and_then(|t| t.blocks.get(self.block))
                .cloned();
            let Some(block) = next else {
                self.running = false;
                seen.extend(self.finish_pass());
                return (Ran::Ended, seen);
            };
            let whole = match self.carry_out(&block, &mut left, &mut seen) {
                Ok(whole) => whole,
                Err(bad) => {
                    seen.push(bad);
                    self.running = false;
                    self.mill.spindle = 0;
                    self.mill.coolant = false;
                    self.place.edges = false;
                    self.block = 0;
                    self.keep_pass();
                    return (Ran::Crashed, seen);
                }
            };
            if !whole {
                self.running = false;
                return (Ran::Held, seen);
            }
            self.block += 1;
            if block.ends {
                self.running = false;
                seen.extend(self.finish_pass());
                return (Ran::Ended, seen);
            }
            if self.mill.single {
                self.running = false;
                seen.push(Said::plain(format!("Block done: {}", block.text)));
                return (Ran::Held, seen);
            }
        }
    }

    /// Carries out a block; whether the whole of it fitted into the time left.
    fn carry_out(
        &mut self,
        block: &Block,
        left: &mut i64,
        seen: &mut Vec<Said>,
    ) -> Result<bool, Said> {
        if let Some(unit) = block.unit {
            self.mill.system = unit;
        }
        if let Some(offset) = block.offset {
            self.mill.active = offset;
        }
        if let Some(length) = block.length {
            self.mill.length = length;
        }
        if let Some(speed) = block.speed {
            let [least, most] = self.mill.limits.speeds;
            self.mill.speed = speed.clamp(least, most);
        }
        if let Some(on) = block.spindle {
            self.mill.spindle = if on { self.mill.speed } else { 0 };
        }
        if let Some(on) = block.coolant {
            self.mill.coolant = on;
        }
        if let Some(feed) = block.feed {
            self.feed = feed;
        }
        let Some((rapid, called)) = block.goes else {
            return Ok(true);
        };
        let origin = self.mill.origin();
        let was = self.mill.machine;
        let to = [0, 1, 2].map(|i: usize| called[i].map_or(was[i], |c| c + origin[i]));
        let reached = self.mill.within(to);
        let way = root((0..3).map(|i| (to[i] - was[i]) * (to[i] - was[i])).sum());
        let speed = if rapid {
            3000 * MM * self.mill.rapid / 100
        } else {
            self.feed * self.mill.feed / 100
        };
        let takes = way * 60 / (speed / 1000).max(1);
        let (goal, whole) = if takes > *left {
            let part = |i: usize| was[i] + (reached[i] - was[i]) * *left / takes.max(1);
            ([part(0), part(1), part(2)], false)
        } else {
            (reached, true)
        };
        let used = takes.min(*left);
        *left -= used;
        self.mill.pass(used / 1000);
        self.cut_to(goal, rapid, seen)?;
        if reached != to {
            return Err(Said::bad(format!(
                "`{}`: the axis runs against the end of its travel and the control stops.",
                block.text
            )));
        }
        Ok(whole)
    }

    fn cut_to(&mut self, goal: [Nm; 3], rapid: bool, seen: &mut Vec<Said>) -> Result<(), Said> {
        let from = self.tip();
        self.mill.machine = goal;
        let now = self.tip();
        let swept = self.plate.sweep(&self.cutter, from, now);
        let deep = length(swept.deepest, self.mill.system);
        if swept.steel || swept.clamp {
            self.happen(What::Steel, swept.deepest);
            return Err(Said::bad(
                "A bang: the cutter ran into steel. Pieces fly, the spindle stalls.",
            ));
        }
        if swept.deepest > 0 && (rapid || self.mill.spindle == 0) {
            self.happen(What::Crash, swept.deepest);
            let how = if rapid {
                "at rapid"
            } else {
                "with the spindle standing"
            };
            return Err(Said::bad(format!(
                "The cutter hits metal {how}, {deep} deep, and breaks."
            )));
        }
        if swept.deepest > self.cutter.deepest * 4 {
            self.happen(What::Crash, swept.deepest);
            return Err(Said::bad(format!(
                "The cutter digs in {deep} deep, screams and breaks."
            )));
        }
        if swept.deepest > self.cutter.deepest + 20_000
            && self.deepest() <= self.cutter.deepest + 20_000
        {
            self.happen(What::TooDeep, swept.deepest);
            seen.push(Said::bad(format!(
                "The spindle labours: {deep} deep is more than this cutter may bite."
            )));
        }
        if swept.deepest > 0 && self.deepest() == 0 {
            if !(self.mill.coolant && self.place.nozzle) {
                self.happen(What::Dry, 0);
                seen.push(Said::bad(
                    "Chips weld to the edges: no coolant reaches the cutter.",
                ));
            }
            if !self.place.door {
                self.happen(What::OpenDoor, 0);
                seen.push(Said::bad("Chips fly out of the opening."));
            }
        }
        self.taken += swept.taken;
        if let Some(pass) = &mut self.pass {
            pass.deepest = pass.deepest.max(swept.deepest);
        }
        Ok(())
    }

    fn deepest(&self) -> Nm {
        self.pass.as_ref().map_or(0, |p| p.deepest)
    }

    fn keep_pass(&mut self) {
        let side = self.plate.cell / 1000;
        if let Some(mut pass) = self.pass.take() {
            // Cells times nanometres, a cell in square micrometres: to cubic millimetres.
            let cubic = i128::from(self.taken) * i128::from(side * side) / 1_000_000_000_000;
            pass.volume = i64::try_from(cubic).unwrap_or(i64::MAX);
            pass.cleaned = self.plate.cleaned();
            pass.lowest = self.plate.extremes().0;
            self.passes.push(pass);
        }
    }

    fn finish_pass(&mut self) -> Vec<Said> {
        self.block = 0;
        let deepest = self.deepest();
        self.keep_pass();
        self.place.warm_plate = deepest > 0;
        self.place.ink = false;
        self.released = false;
        let mut seen = vec![Said::plain(
            "The program has ended; the cutter stands high over the start.",
        )];
        if deepest == 0 {
            seen.push(Said::new(
                Mood::Look,
                "No chip was made: the whole pass went through air.",
            ));
        }
        seen
    }
}
