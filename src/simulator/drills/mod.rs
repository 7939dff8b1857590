//! Drills: faults put in the way, told only by what a person would see, hear or read.
//!
//! The right answer is to hold, and to clear it in the right order. A drill is caught when its fault is gone before it could
//! do harm; whether everything that belongs to the clearing was done, and in order, is read from what was done at the mill.

mod table;

pub use table::DRILLS;

use super::Chance;
use super::world::{DrillEnd, Running, Said, World};
use crate::procedure::Procedure;
use crate::procedure::practice::faults::Comes;
use crate::procedure::practice::{Fact, Fault};
use std::collections::BTreeSet;

/// When a fault can do harm first.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Harm {
    /// At the next touch.
    Touch,
    /// At the next cycle start.
    Cut,
}

/// A drill: what its fault changes and how it is judged.
#[derive(Clone, Copy)]
pub struct Drill {
    /// Its fault.
    pub fault: Fault,
    /// What is heard or felt when it comes; may be nothing.
    pub heard: &'static str,
    /// What it changes.
    pub apply: fn(&mut World),
    /// Whether the fault is still there.
    pub present: fn(&World) -> bool,
    /// When it does harm.
    pub harm: Harm,
    /// What clearing it takes, in order: the beginnings of words typed at the mill, alternatives with a bar between.
    pub order: &'static [&'static str],
    /// What could be known.
    pub known: &'static str,
    /// What would be right, and why.
    pub right: &'static str,
}

impl Drill {
    /// Its id, for choosing it.
    pub const fn id(&self) -> &'static str {
        self.fault.id()
    }

    /// What it is, for trainer and debrief.
    pub(crate) const fn title(&self) -> &'static str {
        self.fault.row().title
    }

    /// Whether clearing it takes touching off anew.
    pub fn voids_touches(&self) -> bool {
        self.order.iter().any(|o| o.starts_with("touch"))
    }

    /// Whether a rehearsal of the procedure can judge it: a step says that it comes there, or, where it is there from the
    /// beginning, some step asks for what it upsets.
    pub(crate) fn is_judged_in(&self, procedure: &Procedure) -> bool {
        let row = self.fault.row();
        match row.comes {
            Comes::First => procedure
                .steps()
                .any(|s| row.upsets.iter().any(|f| s.facts().contains(f))),
            Comes::AtStep | Comes::AfterTouches(_) => procedure
                .steps()
                .filter_map(|s| s.practice.as_ref())
                .any(|p| p.drills.contains(&self.fault)),
        }
    }
}

impl std::fmt::Debug for Drill {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.id())
    }
}

/// The drill of that id.
pub(crate) fn find(id: &str) -> Option<&'static Drill> {
    DRILLS.iter().find(|d| d.id() == id)
}

/// So many drills, drawn by a seed from those that a procedure can judge; never two that hide each other.
pub(crate) fn drawn(seed: u64, count: usize, procedure: &Procedure) -> Vec<&'static Drill> {
    let mut chance = Chance::of(seed, "drills");
    let judged = |d: &&Drill| d.is_judged_in(procedure);
    let mut left: Vec<&'static Drill> = DRILLS.iter().filter(judged).collect();
    let mut chosen: Vec<&'static Drill> = Vec::new();
    while chosen.len() < count && !left.is_empty() {
        let n = chance.below(u64::try_from(left.len()).unwrap_or(1));
        let drill = left.remove(usize::try_from(n).unwrap_or(0));
        // Two that need the touch-off anew would be told apart by nobody.
        if !(drill.voids_touches() && chosen.iter().any(|c| c.voids_touches())) {
            chosen.push(drill);
        }
    }
    chosen
}

impl World {
    /// Puts drills in the way; those that are there from the beginning begin.
    pub(crate) fn put_drills(&mut self, drills: &[&'static Drill]) {
        for drill in drills {
            let running = Running {
                drill,
                begun: false,
                since: 0,
                marks: 0,
                armed: false,
                standing: false,
                held: false,
                end: None,
                until: None,
            };
            self.drills.push(running);
        }
        self.begin_drills(|d| d.drill.fault.row().comes == Comes::First);
    }

    /// The walk comes to a step where these faults come.
    pub(crate) fn at_step(&mut self, faults: &[Fault]) {
        let marks = self.count(super::world::What::Mark);
        for running in self.drills.iter_mut().filter(|d| !d.begun && !d.armed) {
            if faults.contains(&running.drill.fault) {
                running.armed = true;
                running.marks = marks;
            }
        }
        self.begin_armed();
    }

    /// Armed drills whose touches have been made begin.
    fn begin_armed(&mut self) {
        let marks = self.count(super::world::What::Mark);
        self.begin_drills(|d| {
            let after = match d.drill.fault.row().comes {
                Comes::AfterTouches(n) => n,
                Comes::First | Comes::AtStep => 0,
            };
            d.armed && marks >= d.marks + after
        });
    }

    fn begin_drills(&mut self, which: impl Fn(&Running) -> bool) {
        let due: Vec<usize> = (0..self.drills.len())
            .filter(|i| self.drills.get(*i).is_some_and(|d| !d.begun && which(d)))
            .collect();
        for index in due {
            let since = self.acts.len();
            let standing = self.mill.spindle == 0;
            let Some(running) = self.drills.get_mut(index) else {
                continue;
            };
            running.begun = true;
            running.since = since;
            running.standing = standing;
            let drill = running.drill;
            (drill.apply)(self);
            if !drill.heard.is_empty() {
                self.heard.push(Said::plain(drill.heard));
            }
        }
    }

    /// After every act: faults that are gone are caught.
    pub(crate) fn judge_cleared(&mut self) {
        let gone: Vec<bool> = self
            .drills
            .iter()
            .map(|d| !(d.drill.present)(self))
            .collect();
        let until = self.acts.len();
        for (running, gone) in self.drills.iter_mut().zip(gone) {
            if running.begun && running.end.is_none() && gone {
                running.end = Some(DrillEnd::Caught);
                running.until = Some(until);
            }
        }
        self.begin_armed();
    }

    /// A touch was made.
    pub(crate) fn judge_touch(&mut self) {
        self.judge(Harm::Touch);
    }

    /// Cycle start was pressed: every fault still there does its harm.
    pub(crate) fn judge_cut(&mut self) {
        self.judge(Harm::Touch);
        self.judge(Harm::Cut);
    }

    fn judge(&mut self, harm: Harm) {
        let there: Vec<bool> = self
            .drills
            .iter()
            .map(|d| (d.drill.present)(self))
            .collect();
        for (running, there) in self.drills.iter_mut().zip(there) {
            let due = running.begun && running.end.is_none() && running.drill.harm == harm;
            if due && there {
                running.end = Some(DrillEnd::Missed);
            }
        }
    }

    /// An answer that depends on these facts held the walk, or the stop word was given (none): faults that it may be about
    /// were seen.
    pub(crate) fn was_held(&mut self, facts: Option<&BTreeSet<Fact>>) {
        for running in self
            .drills
            .iter_mut()
            .filter(|d| d.begun && d.end.is_none())
        {
            let upsets = running.drill.fault.row().upsets;
            if facts.is_none_or(|facts| upsets.iter().any(|f| facts.contains(f))) {
                running.held = true;
            }
        }
    }

    /// Whether a caught drill was cleared in the right order: its words follow each other in what was done up to the next
    /// cycle start.
    pub(crate) fn in_order(&self, running: &Running) -> bool {
        let done = self.acts.get(running.since..).unwrap_or_default();
        let done = done.split(|act| act == "start").next().unwrap_or_default();
        let mut wanted = running
            .drill
            .order
            .iter()
            .filter(|o| !(running.standing && o.starts_with("spindle off")));
        let mut next = wanted.next();
        for act in done {
            if next.is_some_and(|words| words.split('|').any(|w| act.starts_with(w))) {
                next = wanted.next();
            }
        }
        next.is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::super::setup::tests::world;
    use super::super::world::DrillEnd;
    use super::{DRILLS, Harm, drawn};
    use crate::diagnostics::Findings;
    use crate::procedure::practice::Fault;
    use crate::procedure::practice::faults::Comes;
    use crate::procedure::{Procedure, read};

    fn built_in() -> Procedure {
        let text = include_str!("../../../checklists/base-plate.yaml");
        read::read(text, &mut Findings::default()).unwrap()
    }

    #[test]
    fn each_fault_has_one_drill_that_says_all_of_itself() {
        assert!(DRILLS.len() >= 15);
        let faults: Vec<Fault> = DRILLS.iter().map(|d| d.fault).collect();
        assert_eq!(faults, Fault::ALL);
        for drill in DRILLS {
            assert!(!drill.order.is_empty() && !drill.known.is_empty() && !drill.right.is_empty());
            assert!(!drill.fault.row().upsets.is_empty(), "{}", drill.id());
        }
    }

    #[test]
    fn the_built_in_procedure_judges_every_drill() {
        let procedure = built_in();
        for drill in DRILLS {
            assert!(drill.is_judged_in(&procedure), "{}", drill.id());
        }
    }

    /// Each drill's fault shows once put there, does harm if left, and is caught by its own words in order.
    #[test]
    fn each_is_missed_when_left_and_caught_when_cleared_in_order() {
        for drill in DRILLS {
            let begin = || {
                let mut world = world(3);
                world.mill.warm = 3600;
                world.act("home; door shut");
                assert!(!(drill.present)(&world), "{} is there before", drill.id());
                world.put_drills(&[drill]);
                if drill.fault.row().comes != Comes::First {
                    world.at_step(&[drill.fault]);
                    let Comes::AfterTouches(after) = drill.fault.row().comes else {
                        return world;
                    };
                    for _ in 0..after {
                        world.happen(super::super::world::What::Mark, 0);
                    }
                    world.judge_cleared();
                }
                assert!((drill.present)(&world), "{} does not come", drill.id());
                world
            };
            let mut left = begin();
            if drill.harm == Harm::Touch {
                left.judge_touch();
            } else {
                left.judge_cut();
            }
            assert_eq!(left.drills[0].end, Some(DrillEnd::Missed), "{}", drill.id());

            let mut cleared = begin();
            for words in drill.order {
                let word = words.split('|').next().unwrap_or_default();
                let word = match word {
                    "load" => format!("load {}", cleared.facts.program),
                    other => other.to_owned(),
                };
                cleared.act(&word);
            }
            assert_eq!(
                cleared.drills[0].end,
                Some(DrillEnd::Caught),
                "{}",
                drill.id()
            );
            assert!(cleared.in_order(&cleared.drills[0]), "{}", drill.id());
        }
    }

    #[test]
    fn what_is_drawn_depends_on_the_seed_alone() {
        let procedure = built_in();
        let ids = |seed| {
            let drills = drawn(seed, 4, &procedure);
            drills.iter().map(|d| d.id()).collect::<Vec<_>>()
        };
        assert_eq!(ids(5), ids(5));
        assert!((0..20).any(|seed| ids(seed) != ids(5)));
        assert_eq!(drawn(1, 0, &procedure).len(), 0);
    }
}
