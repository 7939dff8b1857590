//! The acts that the search tries in a world, as commands and in words.

use crate::list::{self, BY_HAND, key_of, other_key_of};
use crate::shadow::{How, Spot, Why};
use crate::table::{Group, Sort, Val, offset_by_hand};
use crate::world::{PEOPLE, Scope, World, quantity};
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::answer::{Origin, SigningMethod};
use skimgate::interlock::command::{Command, GivenAnswer, ProgramSeen, Signing};
use skimgate::interlock::event::Outcome;
use skimgate::interlock::examined::{Examined, Judged};
use skimgate::interlock::signing::SignatureRole;
use skimgate::interlock::{Cause, CutEnd, Elsewhere, Instance, MachineContinuity};
use skimgate::people::People;
use skimgate::plate::Reading;
use skimgate::quantity::Length;
use std::sync::Arc;

/// The step at which the machine can be found out of service.
const HOME: &str = "home";
const BAD: &str = "it ran away";

/// An act that the search tries.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// An answer, and whether it comes with a reason.
    Say(Spot, Val, bool),
    WorkOut(Spot, bool),
    /// The first touch of a series, and its end.
    Touch(Spot),
    FinishTouches(Spot),
    RestartTouches(Spot),
    Sign(Spot, u8),
    /// A sign-off with keys: the first and the second signer.
    SignWith(Spot, u8, Option<u8>),
    /// The list of people changes to this one.
    List(u8),
    LookAtPeople,
    Release,
    Start,
    EndCut(How),
    /// The cause of a stop is recorded; `true` if the machine may have lost its position.
    Explain(bool),
    LookAtProgram,
    /// Somebody sees a state in which the machine must not be used.
    FindBad(Spot),
    /// A person puts the machine back in service; `true` with a reason.
    PutBack(u8, bool),
    HandOver(u8),
    /// The run is resumed from its record, as after a crash, with the answer whether the machine stayed as it was,
    /// where it is given.
    Resume(u8, Option<bool>),
    /// The run is resumed with answers from a file, which says that the machine stayed as it was.
    ResumeFromFile(u8),
    /// The next cut is assumed.
    Assume,
    /// The run is taken over from its terminal, with a signature over the state.
    TakeOver(u8, Takes),
    /// Another terminal claims the run, before its operator is known.
    FindReleased,
    Pause,
    /// The stop word is typed.
    Stop(Why),
    Complete,
    Tick,
    ClockBack,
    /// Another terminal asks whether cycle start is released.
    Ask,
    File(u8),
    OtherLoads,
    OtherReleases,
    OtherStarts,
    OtherSigns(Spot, u8),
    OtherHandsOver(u8),
}

/// How a run is taken over.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Takes {
    /// From a terminal that no longer exists.
    Gone,
    /// From a terminal that hangs and may continue later.
    Hanging,
    /// From a terminal that hangs, signed with a key that is not valid.
    OtherKey,
}

impl Takes {
    pub const ALL: [Self; 3] = [Self::Gone, Self::Hanging, Self::OtherKey];
}

impl Act {
    /// Whether it answers a question of the procedure, in whole or in part.
    pub fn answers(self) -> bool {
        matches!(
            self,
            Self::Say(..)
                | Self::FindBad(_)
                | Self::WorkOut(..)
                | Self::Touch(_)
                | Self::FinishTouches(_)
                | Self::RestartTouches(_)
                | Self::Sign(..)
                | Self::SignWith(..)
        )
    }
}

/// The examination of a program of this content.
fn examined(file: u8) -> Examined {
    Examined {
        verdict: Judged::Agrees,
        found: Vec::new(),
        units: Vec::new(),
        work_offsets: vec![format!("G{}", offset_by_hand(file))],
        length_offsets: Vec::new(),
        speeds: Vec::new(),
        feeds: Vec::new(),
        lowest_z: None,
        facts: Vec::new(),
        seconds: None,
    }
}

impl Scope {
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
            Act::FindReleased,
            Act::Pause,
            Act::Complete,
        ]);
        let stopped = How::Stopped(Why::Planned);
        acts.extend([How::Finished, stopped, How::Emergency].map(Act::EndCut));
        acts.extend([Why::Planned, Why::Hit].map(Act::Stop));
        acts.extend((0..self.people).map(Act::HandOver));
        acts.extend((0..self.people).map(|by| Act::Resume(by, Some(true))));
        if self.stops {
            acts.push(Act::EndCut(How::Stopped(Why::NotSaid)));
            acts.push(Act::Stop(Why::NotSaid));
            acts.extend([false, true].map(Act::Explain));
            for kept in [Some(false), None] {
                acts.extend((0..self.people).map(|by| Act::Resume(by, kept)));
            }
        }
        if self.from_file {
            acts.extend((0..self.people).map(Act::ResumeFromFile));
            acts.push(Act::Assume);
        }
        if self.signers {
            let becomes = BY_HAND[usize::from(world.list)].becomes;
            let can = becomes.iter().filter(|list| self.lists.contains(list));
            acts.extend(can.map(|list| Act::List(*list)));
            let ways = if self.wakes {
                &Takes::ALL[..]
            } else {
                &[Takes::Gone]
            };
            for by in 0..self.people {
                acts.extend(ways.iter().map(|how| Act::TakeOver(by, *how)));
            }
            acts.push(Act::LookAtPeople);
        }
        if self.service {
            acts.push(Act::FindBad(world.shadow.spot(HOME, 0)));
            for by in 0..self.people {
                acts.extend([false, true].map(|reason| Act::PutBack(by, reason)));
            }
        }
        if self.ticks {
            acts.push(Act::Tick);
        }
        // Without a release, asking stores nothing.
        if self.asks && world.state.release.is_some() {
            acts.push(Act::Ask);
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
        if self.terminals && world.other.is_none() {
            acts.push(Act::OtherLoads);
        }
        if world.other.is_some() {
            acts.extend([Act::OtherReleases, Act::OtherStarts, Act::OtherHandsOver(0)]);
            // Where people sign with keys, typed initials are never valid.
            if !self.signers {
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
            Sort::Codes => {
                for val in row.says.iter().filter(|v| !self.without.contains(v)) {
                    acts.extend([false, true].map(|reason| Act::Say(at, *val, reason)));
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
            Sort::Sign if self.signers => {
                for by in 0..self.people {
                    let second = (0..self.people).map(Some).chain([None]);
                    acts.extend(second.map(|second| Act::SignWith(at, by, second)));
                }
            }
            Sort::Sign => acts.extend((0..self.people).map(|by| Act::Sign(at, by))),
            Sort::Cut => {}
        }
    }

    /// A path of acts in words.
    pub fn in_words(&self, acts: &[Act]) -> String {
        let parts: Vec<String> = acts.iter().map(|act| self.act_in_words(*act)).collect();
        parts.join(", ")
    }

    fn act_in_words(&self, act: Act) -> String {
        let reason = |reason: bool| if reason { " with a reason" } else { "" };
        match act {
            Act::Say(at, Val::Word(word), _) => format!("{} {word}", self.instance(at)),
            Act::Say(at, Val::Line(line), r) => {
                format!("{} {line}{}", self.instance(at), reason(r))
            }
            Act::Say(at, Val::Um(um), r) => format!("{} {um} um{}", self.instance(at), reason(r)),
            Act::Say(at, val, _) => format!("{} {val:?}", self.instance(at)),
            Act::WorkOut(at, r) => format!("work out {}{}", self.instance(at), reason(r)),
            Act::Touch(at) => format!("touch {}", self.instance(at)),
            Act::FinishTouches(at) => format!("finish {}", self.instance(at)),
            Act::RestartTouches(at) => format!("restart {}", self.instance(at)),
            Act::Sign(at, by) => format!("{} {}", self.instance(at), PEOPLE[usize::from(by)]),
            Act::SignWith(at, by, second) => {
                let second = second.map_or("nobody", |b| PEOPLE[usize::from(b)]);
                let by = PEOPLE[usize::from(by)];
                format!("{} {by} with {second}", self.instance(at))
            }
            other => format!("{other:?}"),
        }
    }

    pub fn instance(&self, at: Spot) -> Instance {
        let pass = (at.pass > 0).then(|| u32::from(at.pass));
        Instance::new(self.table.rows[at.row].id, pass)
    }

    /// The present list of people.
    pub fn people_of(&self, world: &World) -> Arc<People> {
        if self.signers {
            list::people(world.list)
        } else {
            Arc::default()
        }
    }

    pub fn command(&self, act: Act, world: &World) -> Option<Command> {
        let accept = |reason: bool| reason.then(|| "as I say".to_owned());
        let program = content(world.file);
        let people = self.people_of(world);
        // Other open runs are the subject of `two_runs`.
        let elsewhere = Elsewhere::default();
        let sign = |spot, by: u8| Command::Sign {
            at: self.instance(spot),
            initials: PEOPLE[usize::from(by)].into(),
            means: SigningMethod::TypedWithCode,
            with: Signing::default(),
        };
        let hand_over = |to: u8| Command::HandOver {
            to: PEOPLE[usize::from(to)].into(),
            elsewhere: Elsewhere::default(),
        };
        Some(match act {
            Act::Say(at, val, reason) => Command::Answer {
                at: self.instance(at),
                said: match val {
                    Val::Word(word) => GivenAnswer::Word(word.into()),
                    Val::Um(um) => GivenAnswer::Quantity(quantity(um)),
                    Val::File(file) => GivenAnswer::File {
                        path: "a.nc".into(),
                        // A missing file cannot be examined.
                        fingerprint: content(file)?,
                        bytes: 9,
                        examined: Some(Box::new(examined(file))),
                    },
                    Val::Line(line) => GivenAnswer::Codes(line.into()),
                    Val::Touches | Val::Codes(..) => return None,
                },
                accept: accept(reason),
            },
            Act::FindBad(at) => Command::Answer {
                at: self.instance(at),
                said: GivenAnswer::Word(BAD.into()),
                accept: None,
            },
            Act::PutBack(by, reason) => {
                let name = PEOPLE[usize::from(by)];
                // If there is no reason, the right answer of the step is typed in its place.
                let reason = if reason { "as I say" } else { "homed" };
                let list = Some(people.digest());
                let text = world.state.text_to_put_back(name, reason, list);
                let key = || key_of(by, world.list);
                Command::PutBack {
                    reason: reason.into(),
                    by: name.into(),
                    signature: self.signers.then(|| key().sign(&text)),
                    people,
                }
            }
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
                place: None,
                accept: None,
            },
            Act::FinishTouches(at) => Command::FinishTouches {
                at: self.instance(at),
            },
            Act::RestartTouches(at) => Command::RestartTouches {
                at: self.instance(at),
            },
            Act::Sign(at, by) | Act::OtherSigns(at, by) => sign(at, by),
            Act::SignWith(at, by, second) => {
                let signs = |part, who: u8| {
                    let (at, name) = (self.instance(at), PEOPLE[usize::from(who)]);
                    let state = &world.state;
                    let signs_as = state.signs_as(&at, part, name, &people);
                    let digest = state.digest_before(&at);
                    let text = state.text_to_sign(
                        &at,
                        part,
                        name,
                        signs_as,
                        digest,
                        Some(people.digest()),
                    );
                    key_of(who, world.list).sign(&text)
                };
                let name = |who: u8| PEOPLE[usize::from(who)].to_owned();
                Command::Sign {
                    at: self.instance(at),
                    initials: name(by),
                    means: SigningMethod::Key,
                    with: Signing {
                        first: Some(signs(SignatureRole::First, by)),
                        second: second.map(|who| (name(who), signs(SignatureRole::Second, who))),
                        people,
                    },
                }
            }
            Act::LookAtPeople => Command::LookAtPeople { people },
            Act::Release | Act::OtherReleases => Command::Release { program, people },
            Act::Start | Act::OtherStarts => Command::Start { program, people },
            Act::EndCut(how) => Command::EndCut {
                how: match how {
                    How::Finished => CutEnd::Finished,
                    How::Stopped(_) => CutEnd::Stopped,
                    How::Emergency => CutEnd::EmergencyStop,
                },
                cause: match how {
                    How::Stopped(why) => cause(why),
                    How::Finished | How::Emergency => Cause::NotAsked,
                },
                said: String::new(),
            },
            Act::Explain(lost) => Command::ExplainStop {
                cause: cause(if lost { Why::Hit } else { Why::Planned }),
                said: String::new(),
            },
            Act::LookAtProgram => Command::LookAtProgram { program },
            Act::HandOver(to) | Act::OtherHandsOver(to) => hand_over(to),
            Act::Resume(by, kept) => Command::Resume {
                by: PEOPLE[usize::from(by)].into(),
                from: Origin::Terminal,
                kept: kept.map(|kept| {
                    if kept {
                        MachineContinuity::Kept
                    } else {
                        MachineContinuity::NotKnown
                    }
                }),
                elsewhere,
            },
            Act::ResumeFromFile(by) => Command::Resume {
                by: PEOPLE[usize::from(by)].into(),
                from: Origin::AnswersFile,
                kept: Some(MachineContinuity::Kept),
                elsewhere,
            },
            Act::Assume => Command::AssumeCut { program, people },
            Act::TakeOver(by, how) => {
                let name = PEOPLE[usize::from(by)];
                let text = world.state.text_to_take_over(name, Some(people.digest()));
                let key = match how {
                    Takes::OtherKey => other_key_of(by, world.list),
                    Takes::Gone | Takes::Hanging => key_of(by, world.list),
                };
                Command::TakeOver {
                    by: name.into(),
                    signature: key.sign(&text),
                    people,
                    kept: Some(MachineContinuity::Kept),
                    elsewhere,
                }
            }
            Act::FindReleased => Command::FindReleased,
            Act::Pause => Command::Pause { how: "left".into() },
            Act::Stop(why) => Command::Stop {
                cause: cause(why),
                reason: "stop".into(),
            },
            Act::Complete => Command::End {
                outcome: Outcome::Complete,
            },
            Act::Tick
            | Act::ClockBack
            | Act::Ask
            | Act::File(_)
            | Act::List(_)
            | Act::OtherLoads => return None,
        })
    }
}

/// The fingerprint of the program file with this content; `None` where it is missing.
pub fn content(file: u8) -> ProgramSeen {
    (file < 2).then(|| Fingerprint::of([file]))
}

fn cause(why: Why) -> Cause {
    match why {
        Why::NotSaid => Cause::NotSaid,
        Why::Planned => Cause::Planned,
        Why::Hit => Cause::HitSomething,
    }
}
