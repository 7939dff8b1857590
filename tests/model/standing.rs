//! Runs of one machine that follow one another, and which of their answers stand in the next: every order of answers, stops,
//! days, changed facts and cutters, for people, files and rehearsals. The second statement of the rule is `list`, without any
//! function of the interlock.
//!
//! The procedure has a rule even at a step that must be seen now, which `check` would refuse: `decide` must refuse it alone.

mod list;

use crate::keyed::Keyed;
use list::{Asked, Class, List, What};
use skimgate::diagnostics::Findings;
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::answer::Origin;
use skimgate::interlock::command::GivenAnswer;
use skimgate::interlock::event::{Event, Outcome, RunStart, TimedEvent};
use skimgate::interlock::standing::{EarlierAnswer, EarlierRun, collect};
use skimgate::interlock::{
    AnswerStatus, Cause, Command, Elsewhere, Instance, Refusal, State, decide,
};
use skimgate::procedure::{Kind, Procedure, Shop, read, shop};
use skimgate::quantity::moment::Moment;
use skimgate::quantity::{Exact, Quantity, Unit, UnitSystem};
use stateright::{Checker, Model, Property};
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::Instant;

const STANDS: &str = "nothing stands that must be asked";
const NEEDLESS: &str = "nothing is asked without a reason";
const NAMED: &str = "the record names the run and day in which it was seen";
const ENDS: &str = "what stood ends with its time, the clock and a stop";

/// How far the clock is set back, in days.
const BACK: i64 = 1;

/// A fault that is planted between the search and the rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Fault {
    /// What must be seen now may stand.
    EyesStand,
    /// Nothing becomes too old.
    NothingGetsOld,
    /// An answer counts from when it stood last.
    ChainLengthens,
    /// Stops in between are not checked.
    StopUnseen,
    /// A stop of the same run is not checked.
    OwnStopUnseen,
    /// What stood outlives a stop.
    OutlivesStop,
    /// Things under `while` are not compared.
    ChangeUnseen,
    /// A run that was given up counts.
    GivenUpCounts,
    /// An answer with a reason counts.
    ReasonCounts,
    /// Answers of a file stand for people, and the other way round.
    FileCounts,
    /// Answers of a rehearsal stand.
    RehearsalCounts,
    /// What a later run saw is not checked.
    OtherwiseUnseen,
    /// A clock set back is not noticed.
    ClockBackUnseen,
}

/// What is tried.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum Act {
    Begin(Class),
    /// An answer, with a reason where the value needs one.
    Say(Asked, u8),
    Stand(Asked),
    Stop {
        planned: bool,
    },
    Resume,
    /// The run ends with every step answered.
    Complete,
    GiveUp,
    Day,
    ClockBack,
    /// A fact of the machine changes in the shop file.
    Shop,
}

/// The bounds of one exploration.
#[derive(Clone, Copy, Debug)]
struct Scope {
    runs: usize,
    days: i64,
    classes: &'static [Class],
    /// The values of the tram that are tried; 5 needs a reason.
    values: &'static [u8],
    cutters: u8,
    /// Whether days go by within a run too, and not only between runs.
    within: bool,
    /// The most stops.
    stops: usize,
    /// Whether runs are given up.
    give_up: bool,
    shop: bool,
    backs: u8,
}

const SCOPE: Scope = Scope {
    runs: 2,
    days: 3,
    classes: &[Class::Person],
    values: &[1],
    cutters: 1,
    within: false,
    stops: 0,
    give_up: false,
    shop: false,
    backs: 0,
};

type Recorded = Vec<(u64, TimedEvent)>;

#[derive(Clone, Debug)]
struct World {
    runs: Vec<(State, Recorded)>,
    list: List,
    now: i64,
    backs: u8,
    facts: u8,
    number: u64,
    violated: Option<(&'static str, String)>,
    way: Vec<Act>,
}

struct Runs {
    scope: Scope,
    fault: Option<Fault>,
    broken: Mutex<Option<(&'static str, Vec<Act>)>>,
}

fn day(days: i64) -> Moment {
    Moment::from_ms(1_800_000_000_000 + days * 86_400_000).unwrap()
}

fn texts(facts: u8) -> (Arc<Procedure>, Arc<Shop>) {
    static TEXTS: OnceLock<[(Arc<Procedure>, Arc<Shop>); 2]> = OnceLock::new();
    let of = |speed: &str| {
        let mut findings = Findings::default();
        let yaml = include_str!("../procedures/standing-runs.yaml");
        let mut procedure = read::read(yaml, &mut findings).unwrap();
        let rule = procedure.steps().find_map(|s| s.stands.clone());
        for step in procedure.phases.iter_mut().flat_map(|p| &mut p.steps) {
            if step.id == "eyes" {
                step.stands.clone_from(&rule);
            }
        }
        let yaml = include_str!("../procedures/shop.yaml");
        let yaml = yaml.replacen("highest speed: 6000 rpm", speed, 1);
        let shop = shop::read(&yaml, &mut findings).unwrap();
        assert!(!findings.any_error(), "{:?}", findings.sorted());
        (Arc::new(procedure), Arc::new(shop))
    };
    let all = TEXTS.get_or_init(|| ["highest speed: 6000 rpm", "highest speed: 5000 rpm"].map(of));
    all[usize::from(facts)].clone()
}

fn begun(number: usize, class: Class, facts: u8, now: i64) -> State {
    let from = if class == Class::File {
        Origin::AnswersFile
    } else {
        Origin::Terminal
    };
    let begun = RunStart {
        run: format!("r{number}"),
        rehearsal: class == Class::Rehearsal,
        answers_file: (class == Class::File).then(|| "file".to_owned()),
        from: Some(from),
        procedure: Fingerprint::of("p"),
        procedure_id: "standing-runs".into(),
        procedure_version: "1".into(),
        shop: Fingerprint::of("s"),
        machine: "north".into(),
        operator: "JT".into(),
        unit: UnitSystem::Mm,
        tool: "test".into(),
    };
    let (procedure, shop) = texts(facts);
    State::new(procedure, shop, begun, day(now))
}

fn at(step: Asked) -> Instance {
    Instance::new(step.id(), None)
}

/// A change of one step's rule or marks, in a state of its own.
fn with_step(state: &State, step: Asked, change: impl Fn(&mut skimgate::procedure::Step)) -> State {
    let mut state = state.clone();
    let mut procedure = Procedure::clone(&state.procedure);
    let steps = procedure.phases.iter_mut().flat_map(|p| &mut p.steps);
    steps.filter(|s| s.id == step.id()).for_each(change);
    state.procedure = Arc::new(procedure);
    state
}

impl Runs {
    /// The earlier answer as the shell reads it from the book.
    fn earlier(&self, world: &World, own: &State, step: Asked) -> Option<EarlierAnswer> {
        let others = world
            .runs
            .iter()
            .filter(|(state, _)| state.begun.run != own.begun.run);
        let mut runs: Vec<(State, Recorded)> = others.cloned().collect();
        for (state, _) in &mut runs {
            match self.fault {
                Some(Fault::GivenUpCounts) if state.ended.is_some() => {
                    state.ended = Some(Outcome::Complete);
                }
                Some(Fault::FileCounts) => {
                    state.from_file = own.from_file;
                }
                Some(Fault::RehearsalCounts) => state.begun.rehearsal = false,
                Some(Fault::ChainLengthens) => {
                    for given in state.answers.values_mut() {
                        given.seen = None;
                    }
                }
                _ => {}
            }
        }
        let runs: Vec<EarlierRun> = runs
            .iter()
            .map(|(state, events)| EarlierRun { state, events })
            .collect();
        let times: Vec<(u64, i64)> = world
            .runs
            .iter()
            .flat_map(|(_, events)| events.iter().map(|(n, timed)| (*n, timed.at.as_ms())))
            .collect();
        let now = day(world.now).as_ms();
        let set_back = |number: u64| {
            let since: Vec<i64> = times
                .iter()
                .filter(|(n, _)| *n >= number)
                .map(|t| t.1)
                .collect();
            !since.is_sorted() || since.iter().any(|at| *at > now)
        };
        let mut found = collect(own, &runs, &set_back)
            .into_iter()
            .find(|e| e.step == step.id())?;
        match self.fault {
            Some(Fault::StopUnseen) => found.stopped = None,
            Some(Fault::ReasonCounts) => found.accepted = false,
            Some(Fault::OtherwiseUnseen) => found.otherwise = None,
            Some(Fault::ClockBackUnseen) => found.clock_went_back = false,
            Some(Fault::ChangeUnseen) => {
                let present = collect_present(own, step);
                found.same = present.unwrap_or(found.same);
            }
            _ => {}
        }
        Some(found)
    }

    fn decided(&self, world: &World, own: &State, act: Act) -> Result<Vec<Event>, Refusal> {
        let now = day(world.now);
        let mut state = own.clone();
        let command = match act {
            Act::Say(step, value) => Command::Answer {
                at: at(step),
                said: match step {
                    Asked::Eyes => GivenAnswer::Word("worn".into()),
                    Asked::Mark => GivenAnswer::Word("marked".into()),
                    Asked::Cutter => GivenAnswer::Word(["c12", "c16"][usize::from(value)].into()),
                    Asked::Tram => GivenAnswer::Quantity(
                        Quantity::of(Exact::whole(value.into()), &Unit::find("mm").unwrap())
                            .unwrap(),
                    ),
                },
                accept: (value == 5).then(|| "measured twice".to_owned()),
            },
            Act::Stand(step) => {
                match self.fault {
                    Some(Fault::EyesStand) => {
                        state = with_step(&state, Asked::Eyes, |s| s.of_person = false);
                    }
                    Some(Fault::NothingGetsOld) => {
                        let days = Quantity::of(Exact::whole(99), &Unit::find("d").unwrap());
                        let days = days.unwrap();
                        state = with_step(&state, step, |s| {
                            if let Some(rule) = &mut s.stands {
                                rule.time = days;
                            }
                        });
                    }
                    Some(Fault::ReasonCounts) => {
                        state = with_step(&state, step, |s| {
                            if let Kind::Read { limits, .. } = &mut s.kind {
                                limits.expect.clear();
                            }
                        });
                    }
                    Some(Fault::OwnStopUnseen) => state.stopped_unplanned = false,
                    _ => {}
                }
                Command::Stand {
                    at: at(step),
                    earlier: self.earlier(world, own, step).map(Box::new),
                }
            }
            Act::Stop { planned } => Command::Stop {
                cause: if planned {
                    Cause::Planned
                } else {
                    Cause::HitSomething
                },
                reason: "so".into(),
            },
            Act::Resume => Command::Resume {
                by: "JT".into(),
                from: own.origin,
                kept: None,
                elsewhere: Elsewhere::default(),
            },
            // The cut itself is the subject of the other explorations: a run whose steps are answered counts as finished.
            Act::Complete => {
                return Ok(vec![Event::Ended {
                    outcome: Outcome::Complete,
                    by: "JT".into(),
                    from: Some(own.origin),
                }]);
            }
            Act::GiveUp => Command::End {
                outcome: Outcome::Abandoned,
            },
            Act::Begin(_) | Act::Day | Act::ClockBack | Act::Shop => return Ok(Vec::new()),
        };
        decide(&state, now, &command)
    }

    fn recorded(&self, world: &mut World, events: &[Event]) {
        let now = day(world.now);
        for event in events {
            world.number += 1;
            let number = world.number;
            let Some((state, recorded)) = world.runs.last_mut() else {
                return;
            };
            state.apply(now, event);
            if self.fault == Some(Fault::OutlivesStop) {
                state.ended_by_stop.clear();
            }
            // Every event is read again from its stored form.
            let stored = serde_json::to_string(event).unwrap();
            let event = serde_json::from_str(&stored).unwrap();
            recorded.push((number, TimedEvent { at: now, event }));
        }
    }

    /// Checks what stood in the open run against the list.
    fn look(world: &mut World) {
        let Some((state, _)) = world.runs.last().filter(|_| world.list.open().is_some()) else {
            return;
        };
        for (place, status) in state.answer_statuses(day(world.now)) {
            let step = Asked::ALL.into_iter().find(|s| s.id() == place.step.id);
            let stood = state
                .answers
                .get(&place.instance())
                .is_some_and(|g| g.seen.is_some());
            let Some(step) = step.filter(|_| stood) else {
                continue;
            };
            let still = world.list.still_stands(step, world.now);
            if still != (status == AnswerStatus::Holds) {
                world.violated = Some((ENDS, format!("{step:?}: {status:?}")));
                return;
            }
        }
    }
}

/// What the things under `while` of a step are in this run itself.
fn collect_present(
    own: &State,
    step: Asked,
) -> Option<
    Vec<(
        skimgate::procedure::standing::SameThing,
        Option<skimgate::interlock::standing::Same>,
    )>,
> {
    let mut then = own.clone();
    then.begun.run = "then".into();
    then.ended = Some(Outcome::Complete);
    let given = own.answers.values().next()?.clone();
    then.answers.insert(at(step), given);
    let answer = then.answers.get(&at(step))?.answer.clone();
    let event = Event::Answered {
        at: at(step),
        answer,
        by: "JT".into(),
        from: None,
        seen: None,
    };
    let events = [(
        1,
        TimedEvent {
            at: own.began,
            event,
        },
    )];
    let run = EarlierRun {
        state: &then,
        events: &events,
    };
    let found = collect(own, &[run], &|_| false);
    found
        .into_iter()
        .find(|e| e.step == step.id())
        .map(|e| e.same)
}

/// A world, identified by what can still make a difference.
type Node = Keyed<World, u64>;

fn keyed(world: World) -> Node {
    let mut h = DefaultHasher::new();
    // Of equal entries of one run only the last counts, and days count from now.
    let list = &world.list.0;
    for (i, (day, run, what)) in list.iter().enumerate() {
        let again = list[i + 1..].iter().any(|(_, r, w)| r == run && w == what);
        let counts = matches!(what, What::Saw { .. } | What::Stood(_)) || !again;
        if counts {
            ((world.now - day).min(4), run, what).hash(&mut h);
        }
    }
    (world.backs, world.facts, world.now).hash(&mut h);
    if let Some((state, _)) = world.runs.last() {
        (state.left.is_some(), state.stopped_unplanned, state.stretch).hash(&mut h);
    }
    world.violated.as_ref().map(|(name, _)| name).hash(&mut h);
    let key = h.finish();
    Node::new(world, key)
}

impl Model for Runs {
    type State = Node;
    type Action = Act;

    fn init_states(&self) -> Vec<Node> {
        vec![keyed(World {
            runs: Vec::new(),
            list: List::default(),
            now: 0,
            backs: 0,
            facts: 0,
            number: 0,
            violated: None,
            way: Vec::new(),
        })]
    }

    fn actions(&self, node: &Node, acts: &mut Vec<Act>) {
        let (world, scope) = (&node.world, &self.scope);
        if world.violated.is_some() || self.broken.lock().unwrap().is_some() {
            return;
        }
        let between = world.list.open().is_none();
        if world.now < scope.days && world.list.runs() > 0 && (between || scope.within) {
            acts.push(Act::Day);
        }
        if world.backs < scope.backs && world.now > 0 {
            acts.push(Act::ClockBack);
        }
        let Some(open) = world.list.open() else {
            if world.list.runs() < scope.runs {
                acts.extend(scope.classes.iter().map(|class| Act::Begin(*class)));
            }
            if scope.shop && world.facts == 0 {
                acts.push(Act::Shop);
            }
            return;
        };
        if world.list.left() {
            acts.push(Act::Resume);
            return;
        }
        // Steps are answered in their order; that none can be answered before its turn is tried in the other explorations.
        let next = Asked::ALL
            .into_iter()
            .find(|step| !world.list.answered(open, *step));
        acts.push(Act::Stand(next.unwrap_or(Asked::Tram)));
        if let Some(step) = next {
            match step {
                Asked::Eyes | Asked::Mark => acts.push(Act::Say(step, 0)),
                Asked::Tram => acts.extend(scope.values.iter().map(|v| Act::Say(step, *v))),
                Asked::Cutter => acts.extend((0..scope.cutters).map(|v| Act::Say(step, v))),
            }
        }
        if next.is_none() {
            acts.push(Act::Complete);
        }
        if scope.give_up {
            acts.push(Act::GiveUp);
        }
        let stopped = |(_, _, what): &&(i64, usize, What)| matches!(what, What::Stopped { .. });
        if world.list.0.iter().filter(stopped).count() < scope.stops {
            acts.extend([true, false].map(|planned| Act::Stop { planned }));
        }
    }

    fn next_state(&self, node: &Node, act: Act) -> Option<Node> {
        let world = &node.world;
        let mut next = World::clone(world);
        next.way.push(act);
        match act {
            Act::Day => next.now += 1,
            Act::ClockBack => {
                next.now -= BACK;
                next.backs += 1;
            }
            Act::Shop => next.facts = 1,
            Act::Begin(class) => {
                let number = world.runs.len();
                let state = begun(number, class, world.facts, world.now);
                let began = Event::Began(state.begun.clone());
                next.runs.push((state, Vec::new()));
                self.recorded(&mut next, &[began]);
                let what = What::Began(class, world.facts);
                next.list.0.push((world.now, number, what));
            }
            _ => {
                let (own, _) = world.runs.last()?;
                let decided = self.decided(world, own, act);
                let by_hand = match act {
                    Act::Stand(step) => Some((step, world.list.may_stand(step, world.now))),
                    _ => None,
                };
                let run = world.list.open()?;
                match (decided, by_hand) {
                    (Ok(events), by_hand) if !events.is_empty() => {
                        self.recorded(&mut next, &events);
                        let what = happened(act);
                        next.list.0.push((world.now, run, what));
                        if let Some((step, by_hand)) = by_hand {
                            next.violated = wrongly(world, step, by_hand, &events);
                        }
                    }
                    // Each step waits for those before it, and the two statements agree on the rest.
                    (Err(Refusal::NotStanding(why)), Some((step, Ok(_)))) => {
                        next.violated = Some((NEEDLESS, format!("{step:?}: {why:?}")));
                    }
                    _ => return None,
                }
            }
        }
        if next.violated.is_none() {
            Self::look(&mut next);
        }
        if let Some((name, _)) = &next.violated {
            let mut broken = self.broken.lock().unwrap();
            broken.get_or_insert((name, next.way.clone()));
        }
        Some(keyed(next))
    }

    fn properties(&self) -> Vec<Property<Self>> {
        fn holds(node: &Node, name: &str) -> bool {
            let violated = node.world.violated.as_ref();
            violated.is_none_or(|(of, _)| *of != name)
        }
        vec![
            Property::always(STANDS, |_, node| holds(node, STANDS)),
            Property::always(NEEDLESS, |_, node| holds(node, NEEDLESS)),
            Property::always(NAMED, |_, node| holds(node, NAMED)),
            Property::always(ENDS, |_, node| holds(node, ENDS)),
        ]
    }
}

/// The act as an entry of the list.
fn happened(act: Act) -> What {
    match act {
        Act::Say(step, value) => What::Saw {
            step,
            value,
            reason: value == 5,
        },
        Act::Stand(step) => What::Stood(step),
        Act::Stop { planned } => What::Stopped { planned },
        Act::Complete => What::Ended(true),
        Act::GiveUp => What::Ended(false),
        _ => What::Resumed,
    }
}

/// What is wrong with an answer that stands by `events`.
fn wrongly(
    world: &World,
    step: Asked,
    by_hand: Result<usize, list::Reason>,
    events: &[Event],
) -> Option<(&'static str, String)> {
    let i = match by_hand {
        Err(why) => return Some((STANDS, format!("{step:?}: {why}"))),
        Ok(i) => i,
    };
    let (seen_on, run, _) = world.list.0[i];
    let named = events.iter().find_map(|event| match event {
        Event::Answered { seen, .. } => seen.clone(),
        _ => None,
    });
    let right = named
        .as_ref()
        .is_some_and(|s| s.run == format!("r{run}") && s.at == day(seen_on) && s.by == "JT");
    (!right).then(|| (NAMED, format!("{step:?}: {named:?}")))
}

const CHAIN: Scope = Scope { runs: 3, ..SCOPE };
const GIVEN_UP: Scope = Scope {
    give_up: true,
    days: 0,
    ..SCOPE
};
const STOPS: Scope = Scope {
    stops: 2,
    days: 0,
    ..SCOPE
};
const CHANGES: Scope = Scope {
    cutters: 2,
    shop: true,
    days: 0,
    ..SCOPE
};
const VALUES: Scope = Scope {
    runs: 3,
    days: 0,
    values: &[1, 2, 5],
    give_up: true,
    ..SCOPE
};
const CLASSES: Scope = Scope {
    classes: &[Class::Person, Class::File, Class::Rehearsal],
    days: 0,
    ..SCOPE
};
const CLOCK: Scope = Scope {
    within: true,
    days: 1,
    backs: 1,
    ..SCOPE
};
const WITHIN: Scope = Scope {
    within: true,
    ..SCOPE
};

fn search(scope: Scope, fault: Option<Fault>) -> Runs {
    Runs {
        scope,
        fault,
        broken: Mutex::new(None),
    }
}

#[test]
fn answers_that_stand() {
    for (name, scope) in [
        ("runs in a chain", CHAIN),
        ("runs given up", GIVEN_UP),
        ("stops", STOPS),
        ("changed facts and cutters", CHANGES),
        ("values", VALUES),
        ("people, files and rehearsals", CLASSES),
        ("the clock set back", CLOCK),
        ("days within a run", WITHIN),
    ] {
        let began = Instant::now();
        let found = search(scope, None).checker().spawn_bfs().join();
        println!(
            "answers that stand, {name}: {} states, {} steps, at most {} deep, {:.1?}",
            found.unique_state_count(),
            found.state_count(),
            found.max_depth(),
            began.elapsed()
        );
        let broken = found.model().broken.lock().unwrap().clone();
        assert!(
            broken.is_none(),
            "{name}: {broken:?} {:?}",
            found.discoveries()
        );
        assert!(found.unique_state_count() > 50, "{name}");
    }
}

/// Each planted fault is found as the property that it breaks.
#[test]
fn every_fault_planted_in_what_stands_is_found() {
    for (fault, scope, property) in [
        (Fault::EyesStand, SCOPE, STANDS),
        (Fault::NothingGetsOld, SCOPE, STANDS),
        (Fault::ChainLengthens, CHAIN, NAMED),
        (Fault::StopUnseen, STOPS, STANDS),
        (Fault::OwnStopUnseen, STOPS, STANDS),
        (Fault::OutlivesStop, STOPS, ENDS),
        (Fault::ChangeUnseen, CHANGES, STANDS),
        (Fault::GivenUpCounts, GIVEN_UP, STANDS),
        (Fault::ReasonCounts, VALUES, STANDS),
        (Fault::FileCounts, CLASSES, STANDS),
        (Fault::RehearsalCounts, CLASSES, STANDS),
        (Fault::OtherwiseUnseen, VALUES, STANDS),
        (Fault::ClockBackUnseen, CLOCK, STANDS),
    ] {
        let found = search(scope, Some(fault)).checker().spawn_bfs().join();
        let found = found.model().broken.lock().unwrap().clone();
        let (name, way) = found.unwrap_or_else(|| panic!("{fault:?} is not found"));
        println!("{fault:?}: `{name}` after {} acts: {way:?}", way.len());
        assert_eq!(name, property, "{fault:?}: {way:?}");
    }
}
