//! What is explored: the run as the interlock has it, the list of what happened, the clock on the wall, the program file
//! on disk, and a second terminal that may look at the same run.

use crate::fault::Fault;
use crate::key;
use crate::shadow::{How, Shadow, Spot, What};
use crate::table::{Group, Sort, Table, Val};
use skimgate::diagnostics::Findings;
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::answer::{Answer, Means};
use skimgate::interlock::command::{Command, Said, Seen};
use skimgate::interlock::event::{Beginning, Event, Outcome};
use skimgate::interlock::{Instance, Standing, State};
use skimgate::plate::Reading;
use skimgate::procedure::{ShopList, read, shop};
use skimgate::quantity::moment::Moment;
use skimgate::quantity::{Exact, Length, Quantity, Unit, UnitSystem};
use std::sync::Arc;

/// Who is there.
pub const PEOPLE: [&str; 2] = ["JT", "MK"];

/// What a world can hold: the bounds of one exploration.
#[derive(Clone, Debug)]
pub struct Scope {
    pub table: &'static Table,
    pub rehearsal: bool,
    /// How many people can have the run.
    pub people: u8,
    /// What the program file can become: two contents, and 2 for gone.
    pub files: &'static [u8],
    /// How often the clock can be set back, by two minutes.
    pub backs: u8,
    /// Whether the clock moves at all.
    pub ticks: bool,
    /// Whether a second terminal looks on.
    pub terminals: bool,
    /// Which answers are not tried.
    pub without: &'static [Val],
    pub fault: Option<Fault>,
}

/// What can happen.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// An answer, and whether with a reason.
    Say(Spot, Val, bool),
    WorkOut(Spot, bool),
    /// The first touch of a series, and the end of one.
    Touch(Spot),
    FinishTouches(Spot),
    RestartTouches(Spot),
    Sign(Spot, u8),
    Release,
    Start,
    EndCut(How),
    LookAtProgram,
    HandOver(u8),
    /// Taken up again from what is recorded, as after a crash.
    Resume(u8),
    Pause,
    Stop(bool),
    Complete,
    Tick,
    ClockBack,
    File(u8),
    OtherLoads,
    OtherReleases,
    OtherStarts,
    OtherSigns(Spot, u8),
    OtherHandsOver(u8),
}

/// A second terminal's view, and how many writes it is behind.
#[derive(Clone, Debug)]
pub struct View {
    pub state: State,
    pub behind: u8,
}

/// The most writes that a second terminal sleeps through before its view is dropped.
const BEHIND: u8 = 2;

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
    pub file: u8,
    pub other: Option<View>,
    /// The property that does not hold here.
    pub violated: Option<&'static str>,
    /// What was seen that broke it.
    pub seen: String,
}

/// How many minutes the clock is set back by.
pub const BACK: i64 = 2;
/// The longest that anything in the tables holds, in minutes.
pub const LONGEST: i64 = 2;

const BASE_MS: i64 = 1_800_000_000_000;

pub fn moment(minutes: i64) -> Moment {
    Moment::from_ms(BASE_MS + minutes * 60_000).unwrap()
}

pub fn minute(at: Moment) -> i64 {
    (at.as_ms() - BASE_MS).div_euclid(60_000)
}

fn quantity(um: i64) -> Quantity {
    let um = Exact::whole(um);
    Quantity::of(um, &Unit::find("um").unwrap()).unwrap()
}

impl Scope {
    pub fn begin(&self) -> World {
        let mut findings = Findings::default();
        let procedure = read::read(self.table.yaml, &mut findings);
        let shop = shop::read(include_str!("../procedures/shop.yaml"), &mut findings);
        assert!(findings.is_empty(), "{:?}", findings.sorted());
        let mut procedure = Fault::procedure(self.fault, procedure.unwrap());
        for rule in procedure.passes.iter_mut().filter(|r| r.until.is_some()) {
            rule.at_most = u32::from(self.table.most_passes);
        }
        let begun = Beginning {
            run: "r1".into(),
            rehearsal: self.rehearsal,
            answers_file: None,
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
            shadow: Shadow::new(self.table, self.rehearsal, 0),
            book: None,
            now: 0,
            backs: 0,
            file: 0,
            other: None,
            violated: None,
            seen: String::new(),
        }
    }

    pub fn acts(&self, world: &World) -> Vec<Act> {
        let mut acts = Vec::new();
        if world.violated.is_some() || world.state.ended.is_some() {
            return acts;
        }
        for row in 0..self.table.rows.len() {
            let passes = match self.table.rows[row].group {
                Group::Once => 0..=0,
                Group::Rough => 1..=self.table.most_passes,
                Group::Finish => 1..=1,
            };
            for pass in passes {
                self.answers(Spot { row, pass }, world, &mut acts);
            }
        }
        acts.extend([
            Act::Release,
            Act::Start,
            Act::LookAtProgram,
            Act::Pause,
            Act::Complete,
        ]);
        acts.extend([How::Finished, How::Stopped, How::Emergency].map(Act::EndCut));
        acts.extend([false, true].map(Act::Stop));
        acts.extend((0..self.people).map(Act::HandOver));
        acts.extend((0..self.people).map(Act::Resume));
        if self.ticks {
            acts.push(Act::Tick);
        }
        if world.backs < self.backs {
            acts.push(Act::ClockBack);
        }
        acts.extend(
            self.files
                .iter()
                .filter(|f| **f != world.file)
                .map(|f| Act::File(*f)),
        );
        if self.terminals {
            if world.other.is_none() {
                acts.push(Act::OtherLoads);
            } else {
                acts.extend([Act::OtherReleases, Act::OtherStarts, Act::OtherHandsOver(0)]);
                let sign = self
                    .table
                    .rows
                    .iter()
                    .position(|r| r.sort == Sort::Sign)
                    .unwrap();
                acts.push(Act::OtherSigns(Spot { row: sign, pass: 1 }, 0));
            }
        }
        acts
    }

    fn answers(&self, at: Spot, world: &World, acts: &mut Vec<Act>) {
        let row = &self.table.rows[at.row];
        match row.sort {
            Sort::Plain | Sort::Look => {
                for val in row.says.iter().filter(|v| !self.without.contains(v)) {
                    acts.push(Act::Say(at, *val, false));
                    if matches!(val, Val::Um(_)) {
                        acts.push(Act::Say(at, *val, true));
                    }
                }
            }
            Sort::Program => acts.push(Act::Say(at, Val::File(world.file), false)),
            Sort::Worked => acts.extend([false, true].map(|reason| Act::WorkOut(at, reason))),
            Sort::Touched => {
                acts.extend([
                    Act::Touch(at),
                    Act::FinishTouches(at),
                    Act::RestartTouches(at),
                ]);
            }
            Sort::Sign => acts.extend((0..self.people).map(|by| Act::Sign(at, by))),
            Sort::Cut => {}
        }
    }

    /// A way in words.
    pub fn tell(&self, acts: &[Act]) -> String {
        let told: Vec<String> = acts.iter().map(|act| self.tell_one(*act)).collect();
        told.join(", ")
    }

    fn tell_one(&self, act: Act) -> String {
        let reason = |reason: bool| if reason { " with a reason" } else { "" };
        match act {
            Act::Say(at, Val::Word(word), _) => format!("{} {word}", self.instance(at)),
            Act::Say(at, Val::Um(um), r) => format!("{} {um} um{}", self.instance(at), reason(r)),
            Act::Say(at, val, _) => format!("{} {val:?}", self.instance(at)),
            Act::WorkOut(at, r) => format!("work out {}{}", self.instance(at), reason(r)),
            Act::Touch(at) => format!("touch {}", self.instance(at)),
            Act::FinishTouches(at) => format!("finish {}", self.instance(at)),
            Act::RestartTouches(at) => format!("restart {}", self.instance(at)),
            Act::Sign(at, by) => format!("{} {}", self.instance(at), PEOPLE[usize::from(by)]),
            other => format!("{other:?}"),
        }
    }

    fn instance(&self, at: Spot) -> Instance {
        let pass = (at.pass > 0).then(|| u32::from(at.pass));
        Instance::new(self.table.rows[at.row].id, pass)
    }

    fn command(&self, act: Act, world: &World) -> Option<Command> {
        let accept = |reason: bool| reason.then(|| "as I say".to_owned());
        let program = content(world.file);
        let sign = |spot, by: u8| Command::Sign {
            at: self.instance(spot),
            initials: PEOPLE[usize::from(by)].into(),
            means: Means::TypedWithCode,
        };
        let hand_over = |to: u8| Command::HandOver {
            to: PEOPLE[usize::from(to)].into(),
        };
        Some(match act {
            Act::Say(at, val, reason) => Command::Answer {
                at: self.instance(at),
                said: match val {
                    Val::Word(word) => Said::Word(word.into()),
                    Val::Um(um) => Said::Quantity(quantity(um)),
                    Val::File(file) => Said::File {
                        path: "a.nc".into(),
                        // A file that is gone cannot be examined.
                        fingerprint: content(file)?,
                        bytes: 9,
                    },
                    Val::Touches => return None,
                },
                accept: accept(reason),
            },
            Act::WorkOut(at, reason) => Command::WorkOut {
                at: self.instance(at),
                accept: accept(reason),
            },
            Act::Touch(at) => Command::Touch {
                at: self.instance(at),
                point: "P1".into(),
                reading: Reading {
                    readout: Some(Length::ZERO),
                    machine: None,
                },
                closing: false,
                accept: None,
            },
            Act::FinishTouches(at) => Command::FinishTouches {
                at: self.instance(at),
            },
            Act::RestartTouches(at) => Command::RestartTouches {
                at: self.instance(at),
            },
            Act::Sign(at, by) | Act::OtherSigns(at, by) => sign(at, by),
            Act::Release | Act::OtherReleases => Command::Release { program },
            Act::Start | Act::OtherStarts => Command::Start { program },
            Act::EndCut(how) => Command::EndCut {
                how: word(how).into(),
            },
            Act::LookAtProgram => Command::LookAtProgram { program },
            Act::HandOver(to) | Act::OtherHandsOver(to) => hand_over(to),
            Act::Resume(by) => Command::Resume {
                by: PEOPLE[usize::from(by)].into(),
            },
            Act::Pause => Command::Pause { how: "left".into() },
            Act::Stop(emergency) => Command::Stop {
                emergency,
                reason: "stop".into(),
            },
            Act::Complete => Command::End {
                outcome: Outcome::Complete,
            },
            Act::Tick | Act::ClockBack | Act::File(_) | Act::OtherLoads => return None,
        })
    }

    /// What `act` makes of `world`; nothing where it changes nothing.
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
            Act::File(file) => World {
                file,
                ..world.clone()
            },
            Act::OtherLoads => {
                let view = View {
                    state: world.state.clone(),
                    behind: 0,
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
            Act::Resume(_) => self.by_first(&self.reloaded(world), act)?,
            _ => self.by_first(world, act)?,
        };
        if next.violated.is_none() {
            self.look(&mut next);
        }
        Some(next)
    }

    /// The second terminal does something; whatever comes of it, it then looks anew.
    fn by_other(&self, world: &World, act: Act) -> Option<World> {
        let mut next = world.clone();
        let view = next.other.take()?;
        // The book takes a write only after the very entry that its writer has seen last.
        if view.behind > 0 && self.fault != Some(Fault::OldViewMayWrite) {
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
            });
        }
        Some(next)
    }

    /// The first terminal, whose view is always the book's, does something.
    fn by_first(&self, world: &World, act: Act) -> Option<World> {
        let command = self.command(act, world)?;
        match Fault::decide(self.fault, &world.state, moment(world.now), &command) {
            Ok(events) if events.is_empty() => None,
            Ok(events) => {
                let mut next = world.clone();
                self.carry(&mut next, act, &events);
                next.other = next
                    .other
                    .take()
                    .filter(|v| v.behind < BEHIND)
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
                    Act::Complete => shadow.complete(),
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

    fn carry(&self, next: &mut World, act: Act, events: &[Event]) {
        self.before(next, act, events);
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

    /// A crash loses what is in memory; what is recorded comes back the same, through the form it is stored in.
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

    /// What must hold for the interlock to have decided so.
    fn before(&self, next: &mut World, act: Act, events: &[Event]) {
        let shadow = &next.shadow;
        let mut found = None;
        match act {
            Act::Start => {
                if shadow.unused_releases() == 0 {
                    found = Some((
                        "no release used twice",
                        "no release since the last start".to_owned(),
                    ));
                } else if let Some(why) = shadow.no_start(next.now, next.file) {
                    found = Some(("no start without every condition", why.to_owned()));
                } else if let Some(Event::CutStarted { plane, .. }) = events.first() {
                    let cut = shadow.next_cut().unwrap();
                    let by_hand = shadow.stands(shadow.spot(shadow.plane_of(cut), cut.pass));
                    let plane = Quantity::from(*plane);
                    if by_hand
                        .is_none_or(|val| !matches!(val, Val::Um(um) if quantity(um) == plane))
                    {
                        found = Some((
                            "every number is right",
                            format!("cut at {plane:?}, by hand {by_hand:?}"),
                        ));
                    }
                }
            }
            Act::Release => {
                let why = shadow.no_release(next.now, next.file);
                found = why.map(|why| ("no release without every condition", why.to_owned()));
            }
            Act::Sign(at, by) => {
                let why = shadow.not_ready(at, next.now);
                let why = why.or((by != shadow.operator()).then_some("somebody else signs"));
                found = why.map(|why| ("signed only over what holds", why.to_owned()));
            }
            Act::WorkOut(at, _) => {
                let by_hand = shadow.worked(at).map(quantity);
                let worked = events.iter().find_map(|e| match e {
                    Event::Answered {
                        answer: Answer::Quantity(q),
                        ..
                    } => Some(*q),
                    _ => None,
                });
                if worked != by_hand {
                    found = Some((
                        "every number is right",
                        format!("{worked:?}, by hand {by_hand:?}"),
                    ));
                }
            }
            Act::Complete if !shadow.complete() => {
                found = Some(("complete only when all is done", String::new()));
            }
            _ => {}
        }
        let releases = events
            .iter()
            .any(|e| matches!(e, Event::Released { .. } | Event::CutStarted { .. }));
        if self.rehearsal && releases {
            found = Some(("a rehearsal never releases", String::new()));
        }
        if let Some((property, seen)) = found {
            next.violate(property, seen);
        }
    }

    /// What must hold of every world.
    fn look(&self, next: &mut World) {
        let (state, shadow) = (&next.state, &next.shadow);
        let machine = state.chosen(ShopList::Machines).map(|m| m.id.as_str());
        if machine != Some(&state.begun.machine)
            || state.operator != PEOPLE[usize::from(shadow.operator())]
        {
            next.violate(
                "never two holders",
                "another machine, or another person, than the book holds it for".into(),
            );
            return;
        }
        if state.release.is_some() && shadow.release().is_none() {
            next.violate("a release dies with any change", String::new());
            return;
        }
        if let Some(cut) = shadow.next_cut() {
            let row = self.table.rows[..cut.row]
                .iter()
                .rposition(|r| r.sort == Sort::Sign)
                .unwrap();
            let sign = self.instance(Spot {
                row,
                pass: cut.pass,
            });
            let standing = state.answers.contains_key(&sign).then(|| {
                let all = state.standings(moment(next.now));
                all.into_iter()
                    .find(|(p, _)| p.instance() == sign)
                    .map(|(_, s)| s)
            });
            if standing == Some(Some(Standing::Holds)) && !shadow.signed() {
                next.violate("no signature outlives a change", String::new());
                return;
            }
        }
        for row in 0..self.table.rows.len() {
            let passes = if self.table.rows[row].group == Group::Once {
                0..=0
            } else {
                1..=self.table.most_passes
            };
            for pass in passes {
                let spot = Spot { row, pass };
                let of = self.instance(spot);
                let current = pass == 0 || shadow.next_cut().is_some_and(|cut| cut.pass == pass);
                if !current {
                    continue;
                }
                if let Val::Um(number) = shadow.stands(spot).unwrap_or(Val::Touches)
                    && state.answers.contains_key(&of)
                    && shadow.breaks_hard(spot, number)
                {
                    next.violate("a hard limit never passes", format!("{of}: {number}"));
                    return;
                }
                if state.deviations.contains_key(&of) && !shadow.with_reason(spot) {
                    next.violate("a reason covers its own value only", of.to_string());
                    return;
                }
            }
        }
    }
}

impl World {
    fn violate(&mut self, property: &'static str, seen: String) {
        if self.violated.is_none() {
            self.violated = Some(property);
            self.seen = seen;
        }
    }
}

/// The fingerprint of a content of the program file.
fn content(file: u8) -> Seen {
    (file < 2).then(|| Fingerprint::of([file]))
}

fn word(how: How) -> &'static str {
    match how {
        How::Finished => "finished",
        How::Stopped => "stopped",
        How::Emergency => "emergency stop",
    }
}

/// What the second terminal does, as if the first had done it.
fn as_first(act: Act) -> Act {
    match act {
        Act::OtherReleases => Act::Release,
        Act::OtherStarts => Act::Start,
        Act::OtherSigns(at, by) => Act::Sign(at, by),
        Act::OtherHandsOver(to) => Act::HandOver(to),
        act => act,
    }
}

/// What happened, for the list.
fn happened(world: &World, act: Act) -> Option<What> {
    let shadow = &world.shadow;
    let by = shadow.operator();
    Some(match act {
        Act::Say(at, val, reason) => {
            // A reason offered where none is needed is not one.
            let Val::Um(um) = val else {
                return Some(What::Said {
                    at,
                    val,
                    by,
                    reason: false,
                });
            };
            What::Said {
                at,
                val,
                by,
                reason: reason && shadow.wants_reason(at, um),
            }
        }
        Act::WorkOut(at, reason) => {
            let um = shadow.worked(at)?;
            let reason = reason && shadow.wants_reason(at, um);
            What::Said {
                at,
                val: Val::Um(um),
                by,
                reason,
            }
        }
        Act::Touch(at) | Act::RestartTouches(at) => What::Restarted(at),
        Act::FinishTouches(at) => What::Said {
            at,
            val: Val::Touches,
            by,
            reason: false,
        },
        Act::Sign(at, by) => What::Signed { at, by },
        Act::Release => What::Released {
            at: shadow.next_cut()?,
            to: by,
        },
        Act::Start => What::Started {
            at: shadow.next_cut()?,
        },
        Act::EndCut(how) => What::CutEnded {
            at: shadow.cutting()?,
            how,
        },
        Act::LookAtProgram => What::FileFell,
        Act::HandOver(to) => What::HandedOver { to },
        Act::Resume(by) => What::TakenUp { by },
        Act::Pause => What::Left,
        Act::Stop(emergency) => What::Stopped { emergency },
        _ => return None,
    })
}
