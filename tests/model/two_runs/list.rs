//! The second, naive statement of the rule: a list of what happened in two runs and simple queries on it.

/// What two runs can share, by number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Thing {
    Plate(usize),
    Person(usize),
}

/// The acts that are tried with the run of a machine, each with a reason or without.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Act {
    Begin { by: usize, rehearsal: bool },
    Choose(usize),
    HandOver(usize),
    Leave,
    TakeUp(usize),
    End,
}

/// One entry of the list.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum What {
    Did(Act),
    Reason(Thing),
}

/// The list of what happened, each entry with its run.
#[derive(Clone, Default, Debug)]
pub struct List(pub Vec<(usize, What)>);

impl List {
    fn of(&self, run: usize) -> impl DoubleEndedIterator<Item = Act> + '_ {
        let acts = self.0.iter().filter(move |(of, _)| *of == run);
        acts.filter_map(|(_, what)| match what {
            What::Did(act) => Some(*act),
            What::Reason(_) => None,
        })
    }

    pub fn open(&self, run: usize) -> bool {
        let acts: Vec<Act> = self.of(run).collect();
        !acts.is_empty() && !acts.contains(&Act::End)
    }

    pub fn rehearsal(&self, run: usize) -> bool {
        self.of(run).any(|act| {
            matches!(
                act,
                Act::Begin {
                    rehearsal: true,
                    ..
                }
            )
        })
    }

    pub fn operator(&self, run: usize) -> Option<usize> {
        self.of(run).rev().find_map(|act| match act {
            Act::Begin { by, .. } | Act::HandOver(by) | Act::TakeUp(by) => Some(by),
            _ => None,
        })
    }

    pub fn plate(&self, run: usize) -> Option<usize> {
        self.of(run).rev().find_map(|act| match act {
            Act::Choose(plate) => Some(plate),
            _ => None,
        })
    }

    pub fn left(&self, run: usize) -> bool {
        let last = self
            .of(run)
            .rfind(|act| matches!(act, Act::Leave | Act::TakeUp(_)));
        last == Some(Act::Leave)
    }

    /// What the act would share with the other run without a recorded reason.
    pub fn shares(&self, run: usize, act: Act) -> Option<Thing> {
        let other = 1 - run;
        let practice = matches!(
            act,
            Act::Begin {
                rehearsal: true,
                ..
            }
        ) || self.rehearsal(run);
        if practice || !self.open(other) || self.rehearsal(other) {
            return None;
        }
        let thing = match act {
            Act::Begin { by, .. } | Act::HandOver(by) | Act::TakeUp(by) => {
                (self.operator(other) == Some(by)).then_some(Thing::Person(by))
            }
            Act::Choose(plate) => (self.plate(other) == Some(plate)).then_some(Thing::Plate(plate)),
            Act::Leave | Act::End => None,
        }?;
        let said = self.0.iter().any(|(_, what)| *what == What::Reason(thing));
        (!said).then_some(thing)
    }
}
