//! Plates and persons that are in another open run too. This may be right (one person at two mills) or wrong (a plate
//! taken from one mill to another in the middle of a run), so continuing needs a reason, which is recorded.
//!
//! The command carries the other open runs, because `decide` reads no book. A rehearsal reserves no plate and no
//! person: it never asks, and it never counts against a real run. A reason recorded in one of two runs is not asked for
//! in the other.

use super::answer::Origin;
use super::event::Event;
use super::refusal::Refusal;
use super::state::State;
use crate::procedure::ShopList;
use crate::quantity::moment::Moment;
use serde::{Deserialize, Serialize};

/// What two open runs have in common.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shared {
    /// A plate, by its id in the shop file.
    Plate(String),
    /// A person, by their initials.
    Person(String),
}

/// Another open run, as it was when it was read.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct OpenRun {
    /// The run's id.
    pub run: String,
    /// The machine's id in the shop file.
    pub machine: String,
    /// The plate's id; `None` until one is chosen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plate: Option<String>,
    /// The operator's initials.
    pub operator: String,
    /// When the run began.
    pub since: Moment,
}

/// The other open runs of a person, and the reason to continue although they are open.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Elsewhere {
    /// The other runs for which no reason is recorded yet.
    pub others: Vec<OpenRun>,
    /// The reason; `None` until one is given.
    pub reason: Option<String>,
}

/// The record that a plate or a person is in other open runs too, and why this run continues with it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct AlsoInUse {
    /// What the runs have in common.
    pub what: Shared,
    /// The other open runs.
    pub others: Vec<OpenRun>,
    /// The reason that was given.
    pub reason: String,
    /// The initials of the person who gave it.
    pub by: String,
    /// Where the reason came from.
    pub from: Option<Origin>,
}

impl Shared {
    /// The plate's id, or the person's initials.
    pub fn name(&self) -> &str {
        match self {
            Self::Plate(name) | Self::Person(name) => name,
        }
    }
}

impl OpenRun {
    /// The run as other runs see it.
    pub fn of(state: &State) -> Self {
        Self {
            run: state.begun.run.clone(),
            machine: state.begun.machine.clone(),
            plate: state.chosen(ShopList::Plates).map(|p| p.id.clone()),
            operator: state.operator.clone(),
            since: state.began,
        }
    }

    /// The run, machine, plate, operator and begin in words. `local` formats a moment in local time.
    pub(crate) fn words(&self, local: &dyn Fn(Moment) -> String) -> String {
        let plate = self.plate.as_deref().unwrap_or("no plate yet");
        format!(
            "run {} on {} ({plate}, {}), begun {}",
            self.run,
            self.machine,
            self.operator,
            local(self.since)
        )
    }

    /// The commands that end this run.
    pub(crate) fn ended_by(&self) -> String {
        format!("`skimgate walk --run {}`, then `end`", self.run)
    }
}

impl AlsoInUse {
    /// What is in which other runs, and why that was accepted, in words.
    pub(crate) fn words(&self, local: &dyn Fn(Moment) -> String) -> String {
        let others: Vec<String> = self.others.iter().map(|o| o.words(local)).collect();
        format!(
            "{} is also in open {}; accepted by {}: {}",
            self.what.name(),
            others.join("; "),
            self.by,
            self.reason
        )
    }
}

impl State {
    /// Whether this run has a recorded reason to share `what` with `run`.
    fn accepts_beside(&self, what: &Shared, run: &str) -> bool {
        let names = |also: &AlsoInUse| also.others.iter().any(|other| other.run == run);
        self.also_in_use
            .iter()
            .any(|also| also.what == *what && names(also))
    }

    /// Whether this run uses `what` now.
    fn uses(&self, what: &Shared) -> bool {
        match what {
            Shared::Plate(plate) => self
                .chosen(ShopList::Plates)
                .is_some_and(|chosen| chosen.id == *plate),
            Shared::Person(person) => self.operator == *person,
        }
    }
}

/// Those of `runs` that use `what` too, are open and are no rehearsals, and for which neither they nor `own` has a
/// recorded reason. `own` is `None` before the run begins.
pub fn others<'a>(
    own: Option<&State>,
    runs: impl IntoIterator<Item = &'a State>,
    what: &Shared,
) -> Vec<OpenRun> {
    if own.is_some_and(|own| own.begun.rehearsal) {
        return Vec::new();
    }
    let accepted = |run: &State| {
        own.is_some_and(|own| {
            own.accepts_beside(what, &run.begun.run) || run.accepts_beside(what, &own.begun.run)
        })
    };
    let same = |run: &State| own.is_some_and(|own| own.begun.run == run.begun.run);
    runs.into_iter()
        .filter(|run| run.ended.is_none() && !run.begun.rehearsal && !same(run))
        .filter(|run| run.uses(what) && !accepted(run))
        .map(OpenRun::of)
        .collect()
}

/// The event that records why `what` is used although `others` use it too, or a refusal where no reason is given;
/// `None` where there are no others.
pub(super) fn accepted(
    state: &State,
    what: Shared,
    others: &[OpenRun],
    reason: Option<&str>,
    (by, from): (&str, Origin),
) -> Result<Option<Event>, Refusal> {
    if others.is_empty() || state.begun.rehearsal {
        return Ok(None);
    }
    let others = others.to_vec();
    let Some(reason) = reason.map(str::trim).filter(|r| !r.is_empty()) else {
        return Err(Refusal::AlsoInUse { what, others });
    };
    Ok(Some(Event::AlsoInUse(AlsoInUse {
        what,
        others,
        reason: reason.to_owned(),
        by: by.to_owned(),
        from: Some(from),
    })))
}

/// As [`accepted`], for a person who begins a run or becomes its operator.
pub(super) fn person(
    state: &State,
    who: &str,
    elsewhere: &Elsewhere,
    from: Origin,
) -> Result<Option<Event>, Refusal> {
    let what = Shared::Person(who.to_owned());
    let reason = elsewhere.reason.as_deref();
    accepted(state, what, &elsewhere.others, reason, (who, from))
}

#[cfg(test)]
mod tests {
    use super::super::command::Command;
    use super::super::event::{Event, Outcome};
    use super::super::refusal::Refusal;
    use super::super::state::State;
    use super::super::testing::{TestRun, at};
    use super::{Elsewhere, OpenRun, Shared, others};

    /// Another run by JT on the south mill with the plate bed-a.
    fn another() -> TestRun {
        let mut rig = TestRun::new();
        rig.state.begun.run = "r2".into();
        rig.state.begun.machine = "south".into();
        rig.word(at("cutter"), "c12").unwrap();
        rig.word(at("plate"), "bed-a").unwrap();
        rig
    }

    fn plate() -> Shared {
        Shared::Plate("bed-a".into())
    }

    fn person() -> Shared {
        Shared::Person("JT".into())
    }

    fn found(own: Option<&State>, other: &State, what: &Shared) -> Vec<String> {
        let found = others(own, [other], what);
        found.into_iter().map(|o| o.run).collect()
    }

    #[test]
    fn only_another_open_run_that_is_no_rehearsal_counts() {
        let (own, mut other) = (TestRun::new(), another());
        for what in [plate(), person()] {
            assert_eq!(found(Some(&own.state), &other.state, &what), ["r2"]);
            assert_eq!(found(None, &other.state, &what), ["r2"]);
            assert!(found(Some(&other.state), &other.state, &what).is_empty());
        }
        let else_ = [Shared::Plate("bed-b".into()), Shared::Person("MK".into())];
        for what in else_ {
            assert!(found(None, &other.state, &what).is_empty());
        }
        let mut practice = own.state.clone();
        practice.begun.rehearsal = true;
        assert!(found(Some(&practice), &other.state, &person()).is_empty());
        assert!(found(Some(&other.state), &practice, &person()).is_empty());
        other.go(Command::End {
            outcome: Outcome::Abandoned,
        });
        for what in [plate(), person()] {
            assert!(found(Some(&own.state), &other.state, &what).is_empty());
        }
    }

    #[test]
    fn a_reason_is_accepted_and_covers_both_runs_but_not_a_third() {
        let (mut own, other) = (TestRun::new(), another());
        own.word(at("cutter"), "c12").unwrap();
        let facts = others(Some(&own.state), [&other.state], &plate());
        let give = |rig: &mut TestRun, reason: Option<&str>| {
            let id = "bed-a".into();
            let others = facts.clone();
            rig.try_do(Command::Answer {
                at: at("plate"),
                said: super::super::command::GivenAnswer::Plate { id, others },
                accept: reason.map(str::to_owned),
            })
        };
        for none in [None, Some(""), Some("  ")] {
            let refused = give(&mut own, none).unwrap_err();
            assert!(refused.can_be_accepted());
            assert_eq!(
                refused,
                Refusal::AlsoInUse {
                    what: plate(),
                    others: facts.clone()
                }
            );
        }
        let before = own.state.digest_before(&at("eyes"));
        let events = give(&mut own, Some(" both ")).unwrap();
        assert!(
            matches!(&events[..], [Event::Answered { .. }, Event::AlsoInUse(also)] if also.reason == "both")
        );
        assert_ne!(own.state.digest_before(&at("eyes")), before);
        assert!(found(Some(&own.state), &other.state, &plate()).is_empty());
        assert!(found(Some(&other.state), &own.state, &plate()).is_empty());
        assert_eq!(found(Some(&own.state), &other.state, &person()), ["r2"]);
        let mut third = other.state.clone();
        third.begun.run = "r3".into();
        assert_eq!(found(Some(&own.state), &third, &plate()), ["r3"]);
    }

    /// Beginning, handing over and resuming, each for a person with another open run.
    #[test]
    fn a_person_with_another_open_run_needs_a_reason_to_take_a_second_one() {
        let other = OpenRun::of(&another().state);
        let with = |reason: Option<&str>| Elsewhere {
            others: vec![other.clone()],
            reason: reason.map(str::to_owned),
        };
        let commands = |reason| {
            [
                Command::BeginBeside {
                    elsewhere: with(reason),
                },
                Command::HandOver {
                    to: "mk".into(),
                    elsewhere: with(reason),
                },
                Command::Resume {
                    by: "MK".into(),
                    from: super::super::answer::Origin::Terminal,
                    kept: None,
                    elsewhere: with(reason),
                },
            ]
        };
        for (without, who) in commands(None).into_iter().zip(["JT", "MK", "MK"]) {
            let what = Shared::Person(who.into());
            let others = vec![other.clone()];
            let refused = TestRun::new().try_do(without).unwrap_err();
            assert_eq!(refused, Refusal::AlsoInUse { what, others });
        }
        for command in commands(Some("two mills")) {
            let mut rig = TestRun::new();
            rig.go(command.clone());
            let also = &rig.state.also_in_use;
            assert_eq!(also.len(), 1, "{command:?}");
            assert_eq!(
                (also[0].reason.as_str(), &also[0].by),
                ("two mills", &rig.state.operator)
            );
        }
    }
}
