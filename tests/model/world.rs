//! The worlds that are explored: the run in the interlock's state, the list of what happened, the clock, the program
//! file on disk, and a second terminal that may have the same run open.

use crate::act::{Act, Takes, content};
use crate::check::{HOLDER, LIVES_AGAIN, VERIFIED, happened};
use crate::fault::Fault;
use crate::key;
use crate::shadow::{Shadow, What};
use crate::table::{Table, Val};
use skimgate::diagnostics::Findings;
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::State;
use skimgate::interlock::event::{Event, RunStart};
use skimgate::interlock::gate::{self, Held, LatestSeen, Requester};
use skimgate::procedure::{Kind, read, shop};
use skimgate::quantity::moment::Moment;
use skimgate::quantity::{Exact, Quantity, Unit, UnitSystem};
use std::sync::Arc;

/// The people in a world.
pub const PEOPLE: [&str; 2] = ["JT", "MK"];

/// The bounds of one exploration.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools)] // each is a bound of its own
pub struct Scope {
    pub table: &'static Table,
    pub rehearsal: bool,
    /// The number of people who can be the operator.
    pub people: u8,
    /// Whether people are registered and sign with keys.
    pub signers: bool,
    /// Whether a trainer must sign the hold points.
    pub taught: bool,
    /// The numbers of the lists of people that can become the present one.
    pub lists: &'static [u8],
    /// The contents that the program file can get: 0, 1, or 2 for a missing file.
    pub files: &'static [u8],
    /// How often the clock can be set back, by two minutes each time.
    pub backs: u8,
    /// Whether the clock moves at all.
    pub ticks: bool,
    /// Whether stops wait for their cause, and the machine may have changed while the run was left.
    pub stops: bool,
    /// The most writes that a second terminal can miss before its view is dropped.
    pub behind: u8,
    /// Whether a run is taken over from terminals that hang and continue later, and with keys that are not valid.
    pub wakes: bool,
    /// Whether the run is also resumed with answers from a file.
    pub from_file: bool,
    /// Whether another terminal asks whether cycle start is released.
    pub asks: bool,
    /// Whether the machine can be found out of service and be put back.
    pub service: bool,
    /// Whether there is a second terminal.
    pub terminals: bool,
    /// The answers that are not tried.
    pub without: &'static [Val],
    pub fault: Option<Fault>,
}

/// The view of a second terminal, and the number of writes that it has missed.
#[derive(Clone, Debug)]
pub struct View {
    pub state: State,
    pub behind: u8,
    /// Whether the run was taken over from it.
    pub taken_over: bool,
}

/// Events in the order of writing, shared between worlds.
#[derive(Debug)]
pub struct Link {
    at: Moment,
    event: Event,
    before: Option<Arc<Link>>,
}

/// One world.
#[derive(Clone, Debug)]
pub struct World {
    pub state: State,
    pub shadow: Shadow,
    pub book: Option<Arc<Link>>,
    /// Minutes on the clock.
    pub now: i64,
    pub backs: u8,
    /// The latest minute at which another terminal asked since the last event, as stored next to the book.
    pub asked: Option<i64>,
    pub file: u8,
    /// The number of the present list of people.
    pub list: u8,
    pub other: Option<View>,
    /// The property that is broken here.
    pub violated: Option<&'static str>,
    /// What was seen when it broke.
    pub seen: String,
}

/// How many minutes the clock is set back by.
pub const BACK: i64 = 2;
/// The longest validity in the tables, in minutes.
pub const LONGEST: i64 = 2;

const BASE_MS: i64 = 1_800_000_000_000;

pub fn moment(minutes: i64) -> Moment {
    Moment::from_ms(BASE_MS + minutes * 60_000).unwrap()
}

pub fn minute(at: Moment) -> i64 {
    (at.as_ms() - BASE_MS).div_euclid(60_000)
}

pub fn quantity(um: i64) -> Quantity {
    let um = Exact::whole(um);
    Quantity::of(um, &Unit::find("um").unwrap()).unwrap()
}

impl Scope {
    pub fn begin(&self) -> World {
        let mut findings = Findings::default();
        let procedure = read::read(self.table.yaml, &mut findings);
        let shop = shop::read(include_str!("../procedures/shop.yaml"), &mut findings);
        assert!(findings.is_empty(), "{:?}", findings.sorted());
        let mut procedure = procedure.unwrap();
        if self.taught {
            for step in procedure.phases.iter_mut().flat_map(|p| &mut p.steps) {
                if let Kind::Sign { role, .. } = &mut step.kind {
                    "trainer".clone_into(role);
                }
            }
        }
        let mut procedure = Fault::procedure(self.fault, procedure);
        for rule in procedure.passes.iter_mut().filter(|r| r.until.is_some()) {
            rule.at_most = u32::from(self.table.most_passes);
        }
        let begun = RunStart {
            run: "r1".into(),
            rehearsal: self.rehearsal,
            answers_file: None,
            from: None,
            procedure: Fingerprint::of("p"),
            procedure_id: procedure.id.clone(),
            procedure_version: "1".into(),
            shop: Fingerprint::of("s"),
            machine: "north".into(),
            operator: PEOPLE[0].into(),
            unit: UnitSystem::Mm,
            tool: "test".into(),
        };
        let state = State::new(
            Arc::new(procedure),
            Arc::new(shop.unwrap()),
            begun,
            moment(0),
        );
        World {
            state,
            shadow: Shadow {
                taught: self.taught,
                ..Shadow::new(self.table, self.rehearsal, self.signers, 0)
            },
            book: None,
            now: 0,
            backs: 0,
            asked: None,
            file: 0,
            list: 0,
            other: None,
            violated: None,
            seen: String::new(),
        }
    }

    /// The world after `act` in `world`; `None` where nothing changes.
    pub fn step(&self, world: &World, act: Act) -> Option<World> {
        let mut next = match act {
            Act::Tick => World {
                now: world.now + 1,
                ..world.clone()
            },
            Act::ClockBack => World {
                now: world.now - BACK,
                backs: world.backs + 1,
                ..world.clone()
            },
            Act::Ask => self.ask(world),
            Act::File(file) => World {
                file,
                ..world.clone()
            },
            Act::List(list) => {
                let mut next = World {
                    list,
                    ..world.clone()
                };
                next.shadow.list.push((world.now, What::List(list)));
                next
            }
            Act::OtherLoads => {
                let view = View {
                    state: world.state.clone(),
                    behind: 0,
                    taken_over: false,
                };
                World {
                    other: Some(view),
                    ..world.clone()
                }
            }
            Act::OtherReleases
            | Act::OtherStarts
            | Act::OtherSigns(..)
            | Act::OtherHandsOver(_) => self.by_other(world, act)?,
            Act::Resume(..) | Act::ResumeFromFile(_) | Act::FindReleased => {
                self.by_first(&self.reloaded(world), act)?
            }
            Act::TakeOver(_, how) => {
                let mut next = self.by_first(&self.reloaded(world), act)?;
                // A terminal that hangs still has the old state of the run.
                next.other = (how != Takes::Gone).then(|| View {
                    state: world.state.clone(),
                    behind: 1,
                    taken_over: true,
                });
                next
            }
            _ => self.by_first(world, act)?,
        };
        if next.violated.is_none() {
            self.look(&mut next);
        }
        Some(next)
    }

    /// Another terminal asks whether cycle start is released, while the terminal that made the release holds the run.
    fn ask(&self, world: &World) -> World {
        let mut next = world.clone();
        let latest = world.asked.map_or(world.now, |at| at.max(world.now));
        next.asked = Some(latest);
        next.shadow.asked.push((next.shadow.list.len(), world.now));
        let seen = match self.fault {
            Some(Fault::LapsedLivesAgain) => world.now,
            _ => latest,
        };
        let asks = Requester::Elsewhere {
            held: Held::ByReleaser,
            seen: LatestSeen::Stored(moment(seen)),
        };
        let people = self.people_of(world);
        let (state, now) = (&world.state, moment(world.now));
        let released = |asks| gate::start(state, now, content(world.file), &people, asks).is_ok();
        for never in [Held::ByNobody, Held::ByAnother] {
            let seen = LatestSeen::Stored(moment(latest));
            if released(Requester::Elsewhere { held: never, seen }) {
                next.violate(HOLDER, "held by another or by nobody".to_owned());
            }
        }
        let held = Held::ByReleaser;
        if released(Requester::Elsewhere {
            held,
            seen: LatestSeen::NotStored,
        }) {
            next.violate(LIVES_AGAIN, "the time cannot be stored".to_owned());
        }
        let released = released(asks);
        match next.shadow.no_start_elsewhere(world.now, world.file) {
            Some(why) if released => next.violate(LIVES_AGAIN, why.to_owned()),
            None if !released => {
                next.violate("never held without a reason", "asked elsewhere".to_owned());
            }
            _ => {}
        }
        next
    }

    /// The second terminal tries something. After that it always reads the run again.
    fn by_other(&self, world: &World, act: Act) -> Option<World> {
        let mut next = world.clone();
        let view = next.other.take()?;
        // The book accepts a write only if its writer has seen the last entry.
        let lets = match self.fault {
            Some(Fault::OldViewMayWrite) => true,
            Some(Fault::OldHolderMayWrite) => view.taken_over,
            _ => false,
        };
        if view.behind > 0 && !lets {
            return Some(next);
        }
        let command = self.command(act, world)?;
        let decided = Fault::decide(self.fault, &view.state, moment(world.now), &command);
        if let Ok(events) = decided {
            if view.behind > 0 {
                next.violate(
                    "never two holders",
                    format!("{act:?} written over an unseen entry"),
                );
            }
            self.carry(&mut next, as_first(act), &events);
            next.other = Some(View {
                state: world.state.clone(),
                behind: 1,
                taken_over: false,
            });
        }
        Some(next)
    }

    /// The first terminal, whose view is always up to date, tries something.
    fn by_first(&self, world: &World, act: Act) -> Option<World> {
        let command = self.command(act, world)?;
        match Fault::decide(self.fault, &world.state, moment(world.now), &command) {
            Ok(events) if events.is_empty() => None,
            Ok(events) => {
                let mut next = world.clone();
                self.carry(&mut next, act, &events);
                Self::verify(world, &mut next, &events);
                next.other = next
                    .other
                    .take()
                    .filter(|v| v.behind < self.behind)
                    .map(|v| View {
                        behind: v.behind + 1,
                        ..v
                    });
                Some(next)
            }
            Err(refusal) => {
                let shadow = &world.shadow;
                let needless = match act {
                    Act::Release => shadow.no_release(world.now, world.file).is_none(),
                    Act::Start => shadow.no_start(world.now, world.file).is_none(),
                    Act::Assume => shadow.no_assumed_cut(world.now, world.file).is_none(),
                    Act::Complete => shadow.complete(),
                    Act::PutBack(by, reason) => {
                        reason && shadow.out_of_service() && shadow.may_put_back(by)
                    }
                    Act::TakeOver(by, how) => shadow.may_take_over(by) && how != Takes::OtherKey,
                    _ => false,
                };
                needless.then(|| {
                    let mut next = world.clone();
                    next.violate("never held without a reason", format!("{refusal:?}"));
                    next
                })
            }
        }
    }

    /// Checks that the recorded events pass the checks of `record verify`.
    fn verify(world: &World, next: &mut World, events: &[Event]) {
        let (state, now) = (&world.state, moment(world.now));
        for event in events {
            let passes = match event {
                Event::CutStarted { at, by, .. } => {
                    state.check_started(at, by, state.release.as_ref(), now)
                }
                Event::CutEnded { at, .. } => state.check_ended(at),
                _ => Ok(()),
            };
            if let Err(fault) = passes {
                next.violate(VERIFIED, fault.to_string());
            }
        }
    }

    fn carry(&self, next: &mut World, act: Act, events: &[Event]) {
        self.before(next, act, events);
        if !events.is_empty() {
            next.asked = None;
        }
        let at = moment(next.now);
        for event in events {
            Fault::apply(self.fault, &mut next.state, at, event);
            let before = next.book.take();
            next.book = Some(Arc::new(Link {
                at,
                event: event.clone(),
                before,
            }));
        }
        if let Some(what) = happened(next, act) {
            next.shadow.list.push((next.now, what));
        }
    }

    /// The world after a crash, which loses what is in memory: the recorded events are loaded from their stored form.
    fn reloaded(&self, world: &World) -> World {
        let mut links = Vec::new();
        let mut link = world.book.as_ref();
        while let Some(l) = link {
            links.push(l);
            link = l.before.as_ref();
        }
        let s = &world.state;
        let (procedure, shop) = (Arc::clone(&s.procedure), Arc::clone(&s.shop));
        let mut state = State::new(procedure, shop, s.begun.clone(), moment(0));
        for l in links.iter().rev() {
            let stored = serde_json::to_string(&l.event).unwrap();
            Fault::apply(
                self.fault,
                &mut state,
                l.at,
                &serde_json::from_str(&stored).unwrap(),
            );
        }
        let same = key::of_state(&state, world.now) == key::of_state(s, world.now);
        let mut next = World {
            state,
            ..world.clone()
        };
        if !same {
            next.violate("what is recorded comes back the same", String::new());
        }
        next
    }
}

impl World {
    pub fn violate(&mut self, property: &'static str, seen: String) {
        if self.violated.is_none() {
            self.violated = Some(property);
            self.seen = seen;
        }
    }
}

/// The act of the second terminal as an act of the first.
fn as_first(act: Act) -> Act {
    match act {
        Act::OtherReleases => Act::Release,
        Act::OtherStarts => Act::Start,
        Act::OtherSigns(at, by) => Act::Sign(at, by),
        Act::OtherHandsOver(to) => Act::HandOver(to),
        act => act,
    }
}
