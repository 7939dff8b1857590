//! Two runs of one shop, on two machines, with two plates and two people: every order in which they begin, choose a
//! plate, are handed over, left and resumed, and end, with a reason and without. The second statement of the rule is a
//! list of what happened and simple queries on it, without any function of the interlock.

mod list;

use crate::keyed::Keyed;
use crate::world::{PEOPLE, moment};
use list::{Act, List, Thing, What};
use skimgate::diagnostics::Findings;
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::answer::Origin;
use skimgate::interlock::command::GivenAnswer;
use skimgate::interlock::elsewhere::others;
use skimgate::interlock::event::{Event, Outcome, RunStart};
use skimgate::interlock::{Command, Elsewhere, Instance, OpenRun, Refusal, Shared, State, decide};
use skimgate::procedure::{Procedure, Shop, read, shop};
use skimgate::quantity::UnitSystem;
use stateright::{Checker, Model, Property};
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::Instant;

const PROCEDURE: &str = include_str!("../procedures/two-runs.yaml");

const MACHINES: [&str; 2] = ["mill-a", "mill-b"];
const PLATES: [&str; 2] = ["plate-1", "plate-2"];
const REASON: &str = "both go on";

const SAID: &str = "a plate or a person in two open runs has a reason";
const NEEDLESS: &str = "no reason is asked where nothing is shared";
const KEPT: &str = "the reason is in the record";

/// A fault that is planted between the search and the rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Fault {
    /// The other run is not checked.
    OtherUnseen,
    /// A reason given for one plate or person covers every other.
    ReasonCoversAll,
    /// A rehearsal reserves its plate and its person.
    RehearsalCounts,
    /// A run that is over still reserves them.
    OverCounts,
    /// A person is checked when a run begins, but not when it is handed over.
    HandoverUnseen,
    /// A blank reason is accepted.
    BlankReason,
}

/// The machine of the run, the act, and whether it comes with a reason.
type Try = (usize, Act, bool);

#[derive(Clone, Debug)]
struct World {
    /// The run of each machine, with its recorded events.
    runs: [Option<(State, Vec<Event>)>; 2],
    list: List,
    violated: Option<(&'static str, String)>,
    way: Vec<Try>,
}

/// The search, with the real rule or with a planted fault.
struct Pair {
    fault: Option<Fault>,
    /// The first broken property, and the path to it. The search is breadth first, so any other fault is not nearer.
    broken: Mutex<Option<(&'static str, Vec<Try>)>>,
}

impl Pair {
    fn with(fault: Option<Fault>) -> Self {
        let broken = Mutex::new(None);
        Self { fault, broken }
    }

    /// The other open runs as the shell reads them.
    fn facts(&self, world: &World, own: Option<&State>, run: usize, what: &Shared) -> Vec<OpenRun> {
        let Some((other, _)) = &world.runs[1 - run] else {
            return Vec::new();
        };
        let mut other = other.clone();
        let mut own = own.cloned();
        match self.fault {
            Some(Fault::OtherUnseen) => return Vec::new(),
            Some(Fault::RehearsalCounts) => {
                other.begun.rehearsal = false;
                if let Some(own) = &mut own {
                    own.begun.rehearsal = false;
                }
            }
            Some(Fault::OverCounts) => other.ended = None,
            Some(Fault::ReasonCoversAll) => {
                let both = own.iter().chain([&other]);
                if both.into_iter().any(|s| !s.also_in_use.is_empty()) {
                    return Vec::new();
                }
            }
            Some(Fault::HandoverUnseen) if own.is_some() && matches!(what, Shared::Person(_)) => {
                return Vec::new();
            }
            _ => {}
        }
        others(own.as_ref(), [&other], what)
    }

    fn elsewhere(
        &self,
        world: &World,
        own: Option<&State>,
        (run, by): (usize, usize),
        reason: Option<&str>,
    ) -> Elsewhere {
        let what = Shared::Person(PEOPLE[by].into());
        Elsewhere {
            others: self.facts(world, own, run, &what),
            reason: reason.map(str::to_owned),
        }
    }

    /// The run after the events of the act.
    fn decided(
        &self,
        world: &World,
        (run, act): (usize, Act),
        reason: Option<&str>,
    ) -> Result<(State, Vec<Event>), Refusal> {
        let blank = (self.fault == Some(Fault::BlankReason)).then_some("unsaid");
        let reason = reason.or(blank);
        if let Act::Begin { by, rehearsal } = act {
            let state = begun(run, by, rehearsal);
            let own = rehearsal.then_some(&state);
            let elsewhere = self.elsewhere(world, own, (run, by), reason);
            let events = decide(&state, moment(0), &Command::BeginBeside { elsewhere })?;
            return Ok((state, events));
        }
        let (state, events) = world.runs[run].clone().unwrap();
        let command = match act {
            Act::Choose(plate) => {
                let what = Shared::Plate(PLATES[plate].into());
                Command::Answer {
                    at: Instance::new("plate", None),
                    said: GivenAnswer::Plate {
                        id: PLATES[plate].into(),
                        others: self.facts(world, Some(&state), run, &what),
                    },
                    accept: reason.map(str::to_owned),
                }
            }
            Act::HandOver(by) => Command::HandOver {
                to: PEOPLE[by].into(),
                elsewhere: self.elsewhere(world, Some(&state), (run, by), reason),
            },
            Act::TakeUp(by) => Command::Resume {
                by: PEOPLE[by].into(),
                from: Origin::Terminal,
                kept: None,
                elsewhere: self.elsewhere(world, Some(&state), (run, by), reason),
            },
            Act::Leave => Command::Pause { how: "left".into() },
            Act::End => Command::End {
                outcome: Outcome::Abandoned,
            },
            Act::Begin { .. } => unreachable!(),
        };
        let state = if matches!(act, Act::TakeUp(_)) {
            reloaded(&state, &events)
        } else {
            state
        };
        let events = decide(&state, moment(0), &command)?;
        Ok((state, events))
    }
}

fn texts() -> (Arc<Procedure>, Arc<Shop>) {
    static TEXTS: OnceLock<(Arc<Procedure>, Arc<Shop>)> = OnceLock::new();
    let read = || {
        let mut findings = Findings::default();
        let procedure = read::read(PROCEDURE, &mut findings);
        let shop = shop::read(include_str!("../../checklists/shop.yaml"), &mut findings);
        assert!(!findings.any_error(), "{:?}", findings.sorted());
        (Arc::new(procedure.unwrap()), Arc::new(shop.unwrap()))
    };
    TEXTS.get_or_init(read).clone()
}

fn begun(run: usize, by: usize, rehearsal: bool) -> State {
    let begun = RunStart {
        run: format!("r{run}"),
        rehearsal,
        answers_file: None,
        from: None,
        procedure: Fingerprint::of("p"),
        procedure_id: "two".into(),
        procedure_version: "1".into(),
        shop: Fingerprint::of("s"),
        machine: MACHINES[run].into(),
        operator: PEOPLE[by].into(),
        unit: UnitSystem::Mm,
        tool: "test".into(),
    };
    let (procedure, shop) = texts();
    State::new(procedure, shop, begun, moment(0))
}

/// A resumed run is built again from the stored form of its events.
fn reloaded(state: &State, events: &[Event]) -> State {
    let (procedure, shop) = (Arc::clone(&state.procedure), Arc::clone(&state.shop));
    let mut again = State::new(procedure, shop, state.begun.clone(), moment(0));
    for event in events {
        let stored = serde_json::to_string(event).unwrap();
        again.apply(moment(0), &serde_json::from_str(&stored).unwrap());
    }
    again
}

/// A world, identified by what can still make a difference: the interlock's view and the list's view.
type Node = Keyed<World, u64>;

fn keyed(world: World) -> Node {
    let mut h = DefaultHasher::new();
    for (run, of) in world.runs.iter().enumerate() {
        if let Some((state, _)) = of {
            let plate = state.answer(&Instance::new("plate", None));
            let plate = plate.and_then(|a| a.word().map(str::to_owned));
            let mut also: Vec<&str> = state.also_in_use.iter().map(|a| a.what.name()).collect();
            also.sort_unstable();
            format!("{plate:?} {also:?}").hash(&mut h);
            (&state.operator, state.left.is_some(), state.ended.is_some()).hash(&mut h);
            state.begun.rehearsal.hash(&mut h);
        }
        (
            of.is_some(),
            world.list.open(run),
            world.list.rehearsal(run),
        )
            .hash(&mut h);
        (
            world.list.operator(run),
            world.list.plate(run),
            world.list.left(run),
        )
            .hash(&mut h);
    }
    for thing in [0, 1]
        .into_iter()
        .flat_map(|i| [Thing::Plate(i), Thing::Person(i)])
    {
        let said = |(_, what): &(usize, What)| *what == What::Reason(thing);
        world.list.0.iter().any(said).hash(&mut h);
    }
    world.violated.as_ref().map(|(name, _)| name).hash(&mut h);
    let key = h.finish();
    Node::new(world, key)
}

impl Model for Pair {
    type State = Node;
    type Action = Try;

    fn init_states(&self) -> Vec<Node> {
        vec![keyed(World {
            runs: [None, None],
            list: List::default(),
            violated: None,
            way: Vec::new(),
        })]
    }

    fn actions(&self, node: &Node, acts: &mut Vec<Self::Action>) {
        let world = &node.world;
        if world.violated.is_some() || self.broken.lock().unwrap().is_some() {
            return;
        }
        for run in 0..2 {
            let tried: Vec<Act> = if world.runs[run].is_none() {
                // A rehearsal in one of the two runs is enough.
                let practice: &[bool] = if run == 0 { &[false] } else { &[false, true] };
                let begin = |by| {
                    practice
                        .iter()
                        .map(move |r| Act::Begin { by, rehearsal: *r })
                };
                [0, 1].into_iter().flat_map(begin).collect()
            } else if !world.list.open(run) {
                Vec::new()
            } else if world.list.left(run) {
                [0, 1].map(Act::TakeUp).into()
            } else {
                let hands = [0, 1].map(Act::HandOver);
                let plates = [0, 1].map(Act::Choose);
                hands
                    .into_iter()
                    .chain(plates)
                    .chain([Act::Leave, Act::End])
                    .collect()
            };
            let with = tried
                .into_iter()
                .flat_map(|act| [false, true].map(|r| (run, act, r)));
            acts.extend(with);
        }
    }

    fn next_state(&self, node: &Node, (run, act, reason): Self::Action) -> Option<Node> {
        let world = &node.world;
        let given = reason.then_some(REASON);
        let shares = world.list.shares(run, act);
        let mut next = World::clone(world);
        match self.decided(world, (run, act), given) {
            Ok((mut state, events)) => {
                for event in &events {
                    state.apply(moment(0), event);
                }
                let kept: Vec<&String> = events
                    .iter()
                    .filter_map(|e| match e {
                        Event::AlsoInUse(also) => Some(&also.reason),
                        _ => None,
                    })
                    .collect();
                let wanted = if shares.is_some() {
                    vec![REASON]
                } else {
                    Vec::new()
                };
                let before = world.runs[run]
                    .iter()
                    .flat_map(|(_, events)| events.clone());
                let all = before.chain(events.clone()).collect();
                next.runs[run] = Some((state, all));
                next.list.0.push((run, What::Did(act)));
                if let Some(thing) = shares {
                    next.list.0.push((run, What::Reason(thing)));
                }
                if shares.is_some() && !reason {
                    next.violated = Some((SAID, format!("{shares:?}")));
                } else if kept != wanted {
                    next.violated = Some((KEPT, format!("{kept:?}")));
                }
            }
            Err(Refusal::AlsoInUse { what, .. }) if shares.is_none() || reason => {
                next.violated = Some((NEEDLESS, format!("{what:?}")));
            }
            Err(_) => return None,
        }
        next.way.push((run, act, reason));
        if let Some((name, _)) = &next.violated {
            let mut broken = self.broken.lock().unwrap();
            broken.get_or_insert((name, next.way.clone()));
        }
        Some(keyed(next))
    }

    fn properties(&self) -> Vec<Property<Self>> {
        fn holds(node: &Node, name: &str) -> bool {
            node.world
                .violated
                .as_ref()
                .is_none_or(|(of, _)| *of != name)
        }
        vec![
            Property::always(SAID, |_, node| holds(node, SAID)),
            Property::always(NEEDLESS, |_, node| holds(node, NEEDLESS)),
            Property::always(KEPT, |_, node| holds(node, KEPT)),
        ]
    }
}

#[test]
fn two_runs() {
    let began = Instant::now();
    let found = Pair::with(None).checker().spawn_bfs().join();
    println!(
        "two runs: {} states, {} steps, at most {} deep, {:.1?}",
        found.unique_state_count(),
        found.state_count(),
        found.max_depth(),
        began.elapsed()
    );
    let broken: Vec<_> = found.discoveries().into_iter().collect();
    assert!(broken.is_empty(), "{broken:?}");
    assert!(found.unique_state_count() > 1000);
}

/// Each planted fault is found as the property that it breaks.
#[test]
fn every_fault_planted_in_two_runs_is_found() {
    for (fault, property, length) in [
        (Fault::OtherUnseen, SAID, 2),
        (Fault::ReasonCoversAll, SAID, 4),
        (Fault::RehearsalCounts, NEEDLESS, 2),
        (Fault::OverCounts, NEEDLESS, 3),
        (Fault::HandoverUnseen, SAID, 3),
        (Fault::BlankReason, SAID, 2),
    ] {
        let pair = Pair::with(Some(fault)).checker().spawn_bfs().join();
        let found = pair.model().broken.lock().unwrap().clone();
        let (name, way) = found.unwrap_or_else(|| panic!("{fault:?} is not found"));
        println!("{fault:?}: `{name}` after {} steps: {way:?}", way.len());
        assert_eq!((name, way.len()), (property, length), "{fault:?}: {way:?}");
    }
}
