//! Answers of earlier runs that stand in this one: which may, and why the others are asked.
//!
//! The shell reads the earlier runs from the book and hands them to [`collect`]; the command carries what it found, and
//! `decide` checks every rule again, because it reads no book. The event stores the run in which the answer was seen, when
//! and by whom.
//!
//! Only an answer that a person saw in its own run is carried on, never one that stood there. So a chain of runs cannot
//! lengthen the time. What could make an old answer wrong ends it: another question, another thing under `while`, a stop
//! that was not planned, a later run that found it otherwise, a clock that was set back, a value that now needs a reason.
//! Answers files carry on only to answers files, rehearsals to nothing.

use super::answer::{Answer, Origin};
use super::answer_status::{AnswerStatus, milliseconds};
use super::answering::choose;
use super::decide::Decided;
use super::event::{Event, Outcome, TimedEvent};
use super::instance::Instance;
use super::recording::{accept, record};
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::state::State;
use super::stopping::Cause;
use crate::fingerprint::Fingerprint;
use crate::procedure::formula::Value;
use crate::procedure::formula::eval::truth;
use crate::procedure::shop::Item;
use crate::procedure::standing::{SameThing, StandingRule, must_be_seen_now, question_digest};
use crate::procedure::{Kind, ShopList, Step};
use crate::quantity::Quantity;
use crate::quantity::format::QuantityFormat;
use crate::quantity::moment::Moment;
use serde::{Deserialize, Serialize};

/// Where an answer that stands was seen.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct SeenEarlier {
    /// The run in which a person answered.
    pub run: String,
    /// When they answered.
    pub at: Moment,
    /// Their initials.
    pub by: String,
}

/// What something under `while` was in a run.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Same {
    /// An item of the shop file, with its facts.
    Item(Box<Item>),
    /// A fact of an item.
    Fact(Value),
    /// The bytes of the program.
    Program(Fingerprint),
}

impl Same {
    /// Whether both are the same. The title of an item is no fact of it.
    fn is(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Item(a), Self::Item(b)) => a.has_same_facts(b),
            _ => self == other,
        }
    }
}

/// An answer of an earlier run, with all that decides whether it stands.
#[derive(Clone, PartialEq, Eq, Debug)]
#[allow(clippy::struct_excessive_bools)] // each is a rule of its own
pub struct EarlierAnswer {
    /// The step.
    pub step: String,
    /// The answer.
    pub answer: Answer,
    /// Where, when and by whom it was seen.
    pub seen: SeenEarlier,
    /// The id of the procedure.
    pub procedure: String,
    /// The digest of the question as it was asked then.
    pub question: Fingerprint,
    /// What the things under `while` were then; `None` where nothing was chosen.
    pub same: Vec<(SameThing, Option<Same>)>,
    /// Whether the run ended with every step answered.
    pub finished: bool,
    /// Whether the run was a rehearsal.
    pub rehearsal: bool,
    /// Whether an answer of the run came from a file.
    pub from_file: bool,
    /// Whether the value was accepted outside a soft limit.
    pub accepted: bool,
    /// Whether its machine lost its position after the answer.
    pub suspect: bool,
    /// The run in which the machine, plate or cutter was stopped since, not as planned.
    pub stopped: Option<String>,
    /// The later run in which something else was answered, or an answer was refused.
    pub otherwise: Option<String>,
    /// Whether the clock was set back since.
    pub clock_went_back: bool,
}

/// Why an earlier answer does not stand.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NotStanding {
    /// The step has no rule, or its answer must be seen now, for this reason.
    SeenNow(String),
    /// The step was answered in this run already.
    Answered,
    /// No earlier run answered it.
    NeverSeen,
    /// One of the two runs is a rehearsal.
    Rehearsal,
    /// One of the two runs took answers from a file, and the other did not.
    OtherOrigin,
    /// The question was another one.
    OtherQuestion,
    /// The run was not finished.
    NotFinished,
    /// The value was accepted with a reason, or would need one now.
    NeedsReason,
    /// Its machine lost its position after the answer.
    Suspect,
    /// The clock was set back since.
    ClockWentBack,
    /// It was seen too long ago.
    TooOld {
        /// How long it stands.
        time: Quantity,
    },
    /// This is not the same as then, or is not known yet.
    Changed(SameThing),
    /// The machine, plate or cutter was stopped in this run, not as planned.
    Stopped(String),
    /// This later run found it otherwise.
    Otherwise(String),
    /// The answer is not possible now.
    Impossible(Box<Refusal>),
}

impl NotStanding {
    /// The reason, in words that follow the title of a step.
    pub(crate) fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::SeenNow(why) => why.clone(),
            Self::Answered => "it was answered in this run".to_owned(),
            Self::NeverSeen => "no earlier run answered it".to_owned(),
            Self::Rehearsal => "a rehearsal carries nothing on".to_owned(),
            Self::OtherOrigin => "answers from a file and answers of people do not mix".to_owned(),
            Self::OtherQuestion => "the question was another one then".to_owned(),
            Self::NotFinished => "that run was not finished".to_owned(),
            Self::NeedsReason => "the value needs a reason".to_owned(),
            Self::Suspect => "the machine lost its position after it".to_owned(),
            Self::ClockWentBack => "the clock was set back since".to_owned(),
            Self::TooOld { time } => {
                format!("it was seen more than {} ago", show.one(*time))
            }
            Self::Changed(thing) => format!("the {thing} is not the same as then"),
            Self::Stopped(run) => format!("run {run} was stopped since, not as planned"),
            Self::Otherwise(run) => format!("run {run} found it otherwise since"),
            Self::Impossible(refusal) => refusal.words(show),
        }
    }
}

/// A run as it is searched for answers that stand, with the place of each event in the book.
#[derive(Clone, Copy, Debug)]
pub struct EarlierRun<'a> {
    /// Its final state.
    pub state: &'a State,
    /// Its events, each with its number in the book.
    pub events: &'a [(u64, TimedEvent)],
}

impl State {
    /// What `thing` is in this run; `None` where it is not chosen yet.
    fn same_thing(&self, thing: &SameThing) -> Option<Same> {
        match thing {
            SameThing::Item(list) => Some(Same::Item(Box::new(self.chosen(*list)?.clone()))),
            SameThing::Fact(list, name) => {
                Some(Same::Fact(self.chosen(*list)?.fact(name)?.clone()))
            }
            SameThing::Program => self.program().map(|(.., bytes)| Same::Program(bytes)),
        }
    }

    /// The status of an answer that stands: it ends with its time, with a clock that was set back, and with a stop of this
    /// run that was not planned.
    pub(super) fn standing_status(
        &self,
        place: &SequencePosition,
        seen: &SeenEarlier,
        stretch: u32,
        now: Moment,
    ) -> AnswerStatus {
        let Some(rule) = &place.step.stands else {
            return AnswerStatus::Open;
        };
        if self.ended_by_stop.contains(&place.instance()) {
            return AnswerStatus::Invalidated {
                because: "the machine was stopped, not as planned".to_owned(),
            };
        }
        if stretch != self.stretch || now < self.latest {
            return AnswerStatus::ClockWentBack;
        }
        match now.since(seen.at) {
            None => AnswerStatus::ClockWentBack,
            Some(ms) if i128::from(ms) > milliseconds(rule.time) => AnswerStatus::Stale {
                since: seen.at,
                fresh_for: rule.time,
            },
            Some(_) => AnswerStatus::Holds,
        }
    }

    /// Notes a stop that was not planned, which ends every answer that stands and was not seen in this run.
    pub(super) fn end_standing(&mut self) {
        self.stopped_unplanned = true;
        let standing = self
            .answers
            .iter()
            .filter(|(_, given)| given.seen.is_some());
        self.ended_by_stop = standing.map(|(of, _)| of.clone()).collect();
    }

    /// What must still be decided in this run for `earlier` to stand; empty where it stands now.
    ///
    /// # Errors
    /// Why it does not stand, whatever comes.
    pub(crate) fn could_stand(
        &self,
        at: &Instance,
        earlier: &EarlierAnswer,
        now: Moment,
    ) -> Result<Vec<SameThing>, NotStanding> {
        let never = || NotStanding::SeenNow("it is asked in every run".to_owned());
        let step = self.step(at).ok_or_else(never)?;
        let rule = step.stands.as_ref().ok_or_else(never)?;
        if let Some(why) = must_be_seen_now(&self.procedure, step) {
            return Err(NotStanding::SeenNow(why));
        }
        let touched = self.answers.contains_key(at) || self.invalidated.contains_key(at);
        if at.pass.is_some() || touched || self.refused.contains(at) {
            return Err(NotStanding::Answered);
        }
        if self.stopped_unplanned {
            return Err(NotStanding::Stopped(self.begun.run.clone()));
        }
        self.could_carry_on(step, rule, earlier)?;
        if earlier.clock_went_back || now < self.latest {
            return Err(NotStanding::ClockWentBack);
        }
        let age = now
            .since(earlier.seen.at)
            .ok_or(NotStanding::ClockWentBack)?;
        if i128::from(age) > milliseconds(rule.time) {
            return Err(NotStanding::TooOld { time: rule.time });
        }
        let mut open = Vec::new();
        for thing in &rule.same {
            let then = earlier.same.iter().find(|(of, _)| of == thing);
            let Some(then) = then.and_then(|(_, same)| same.as_ref()) else {
                return Err(NotStanding::Changed(thing.clone()));
            };
            match self.same_thing(thing) {
                None => open.push(thing.clone()),
                Some(now) if now.is(then) => {}
                Some(_) => return Err(NotStanding::Changed(thing.clone())),
            }
        }
        match self.possible(at, step, &earlier.answer) {
            // What a limit needs may be answered later.
            Ok(()) | Err(Refusal::NoValue(_)) => Ok(open),
            Err(Refusal::Soft(_)) => Err(NotStanding::NeedsReason),
            Err(refusal) => Err(NotStanding::Impossible(Box::new(refusal))),
        }
    }

    /// Whether the answer would be accepted now without a reason.
    fn possible(&self, at: &Instance, step: &Step, answer: &Answer) -> Result<(), Refusal> {
        match (&step.kind, answer) {
            (Kind::Confirm { answer: needed, .. }, Answer::Word(word)) if word == needed => Ok(()),
            (Kind::Choose { options, must }, Answer::Word(word)) => {
                choose(self, at, options, must, word)
            }
            (
                Kind::Read {
                    dimension, limits, ..
                },
                Answer::Quantity(value),
            ) if value.dimension == *dimension => {
                self.number_of_program(at, *value)?;
                accept(self, at, limits, *value, None).map(drop)
            }
            (Kind::Note, Answer::Text(_)) => Ok(()),
            _ => Err(Refusal::WrongKind),
        }
    }

    /// Whether the step at `place` is asked, or may be once its condition can be computed.
    fn may_be_asked(&self, place: &SequencePosition) -> bool {
        let at = place.instance();
        let condition = place.step.when.as_ref();
        condition.is_none_or(|when| truth(&when.expr, &self.env(&at)) != Ok(false))
    }

    /// The rules about the earlier run itself.
    fn could_carry_on(
        &self,
        step: &Step,
        rule: &StandingRule,
        earlier: &EarlierAnswer,
    ) -> Result<(), NotStanding> {
        let named = |thing: &SameThing| earlier.same.iter().any(|(of, _)| of == thing);
        if earlier.rehearsal || self.begun.rehearsal {
            return Err(NotStanding::Rehearsal);
        }
        if earlier.from_file != self.from_file
            || (self.origin == Origin::AnswersFile) != self.from_file
        {
            return Err(NotStanding::OtherOrigin);
        }
        if earlier.procedure != self.begun.procedure_id
            || earlier.step != step.id
            || earlier.question != question_digest(step)
            || !rule.same.iter().all(named)
        {
            return Err(NotStanding::OtherQuestion);
        }
        if !earlier.finished {
            return Err(NotStanding::NotFinished);
        }
        if earlier.accepted {
            return Err(NotStanding::NeedsReason);
        }
        if earlier.suspect {
            return Err(NotStanding::Suspect);
        }
        if let Some(run) = &earlier.stopped {
            return Err(NotStanding::Stopped(run.clone()));
        }
        if let Some(run) = &earlier.otherwise {
            return Err(NotStanding::Otherwise(run.clone()));
        }
        Ok(())
    }
}

/// Records that an earlier answer stands.
pub(super) fn stand(
    state: &State,
    place: &SequencePosition,
    earlier: Option<&EarlierAnswer>,
    now: Moment,
) -> Decided {
    let not = |why| Refusal::NotStanding(Box::new(why));
    let at = place.instance();
    let earlier = earlier.ok_or_else(|| not(NotStanding::NeverSeen))?;
    let open = state.could_stand(&at, earlier, now).map_err(not)?;
    if let Some(thing) = open.into_iter().next() {
        return Err(not(NotStanding::Changed(thing)));
    }
    let possible = state.possible(&at, place.step, &earlier.answer);
    possible.map_err(|refusal| not(NotStanding::Impossible(Box::new(refusal))))?;
    let mut events = record(state, &at, earlier.answer.clone(), None);
    for event in &mut events {
        if let Event::Answered { seen, .. } = event {
            *seen = Some(earlier.seen.clone());
        }
    }
    Ok(events)
}

/// An answer of an earlier run that may stand in this one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Offer {
    /// The step.
    pub(crate) at: Instance,
    /// The answer.
    pub(crate) earlier: EarlierAnswer,
    /// What is not decided in this run yet and must be the same.
    pub(crate) open: Vec<SameThing>,
}

/// Those of the earlier answers that may stand at `from` and at later steps, in the order of the steps.
pub(crate) fn offers(
    state: &State,
    from: &Instance,
    earlier: &[EarlierAnswer],
    now: Moment,
) -> Vec<Offer> {
    let places = state.sequence();
    let places = places.iter().skip_while(|p| p.instance() != *from);
    places
        .filter(|place| state.may_be_asked(place))
        .filter_map(|place| {
            let at = place.instance();
            let earlier = earlier.iter().find(|e| e.step == at.step)?.clone();
            let open = state.could_stand(&at, &earlier, now).ok()?;
            Some(Offer { at, earlier, open })
        })
        .collect()
}

/// The answers of earlier runs to the steps of `state` that have a rule, one for each step at most: the one that was seen
/// last. `set_back_after` says whether the clock was set back after an entry of the book.
pub fn collect(
    state: &State,
    runs: &[EarlierRun],
    set_back_after: &dyn Fn(u64) -> bool,
) -> Vec<EarlierAnswer> {
    let steps = state.procedure.steps().filter(|s| s.stands.is_some());
    steps
        .filter_map(|step| last_seen(state, step, runs, set_back_after))
        .collect()
}

fn last_seen(
    state: &State,
    step: &Step,
    runs: &[EarlierRun],
    set_back_after: &dyn Fn(u64) -> bool,
) -> Option<EarlierAnswer> {
    let rule = step.stands.as_ref()?;
    let at = Instance::new(&step.id, None);
    let counts = |run: &&EarlierRun| {
        run.state.begun.run != state.begun.run
            && run.state.begun.procedure_id == state.begun.procedure_id
            && !run.state.begun.rehearsal
            && run.state.from_file == state.from_file
            && run.state.ended == Some(Outcome::Complete)
    };
    let found = runs.iter().filter(counts).filter_map(|run| {
        let given = run.state.answers.get(&at)?;
        let number = answered_at(run, &at)?;
        given.seen.is_none().then_some((number, run, given))
    });
    let (number, run, given) = found.max_by_key(|(number, ..)| *number)?;
    let earlier = run.state;
    let same: Vec<(SameThing, Option<Same>)> = rule
        .same
        .iter()
        .map(|thing| (thing.clone(), earlier.same_thing(thing)))
        .collect();
    let shares = |other: &State| {
        other.begun.machine == state.begun.machine
            || other.begun.machine == earlier.begun.machine
            || [ShopList::Plates, ShopList::Cutters]
                .into_iter()
                .any(|list| {
                    let named = rule.same.iter().any(|thing| thing.list() == Some(list));
                    let id = |s: &State| s.chosen(list).map(|item| item.id.clone());
                    named && id(other).is_some() && id(other) == id(earlier)
                })
    };
    let stopped = runs
        .iter()
        .find(|other| shares(other.state) && was_stopped(other, number, state.from_file));
    let otherwise = runs.iter().find(|other| {
        other.state.begun.run != earlier.begun.run
            && found_otherwise(other, (&at, &given.answer), number, state.from_file)
    });
    let name = |run: &EarlierRun| run.state.begun.run.clone();
    let asked = earlier.step(&at)?;
    Some(EarlierAnswer {
        step: step.id.clone(),
        answer: given.answer.clone(),
        seen: SeenEarlier {
            run: earlier.begun.run.clone(),
            at: given.at,
            by: given.by.clone(),
        },
        procedure: earlier.begun.procedure_id.clone(),
        question: question_digest(asked),
        same,
        finished: earlier.ended == Some(Outcome::Complete),
        rehearsal: earlier.begun.rehearsal,
        from_file: earlier.from_file,
        accepted: earlier.deviations.contains_key(&at),
        suspect: earlier.shaken.contains(&at),
        stopped: stopped.map(name),
        otherwise: otherwise.map(name),
        clock_went_back: set_back_after(number),
    })
}

/// The number in the book of the last answer to `at` in a run.
fn answered_at(run: &EarlierRun, at: &Instance) -> Option<u64> {
    let mut events = run.events.iter().rev();
    events.find_map(|(number, timed)| match &timed.event {
        Event::Answered { at: of, .. } if of == at => Some(*number),
        _ => None,
    })
}

/// The events of a run after entry `number` that say something about the real machine, or about the walks from files.
fn since<'a>(
    run: &EarlierRun<'a>,
    number: u64,
    from_file: bool,
) -> impl Iterator<Item = &'a Event> {
    let mut origin = run.state.begun.origin();
    let rehearsal = run.state.begun.rehearsal;
    let events = run.events.iter().map(move |(of, timed)| {
        origin = timed.event.origin().unwrap_or(origin);
        (*of, &timed.event, origin == Origin::AnswersFile)
    });
    events
        .filter(move |(of, _, file)| !rehearsal && *of > number && *file == from_file)
        .map(|(_, event, _)| event)
}

/// Whether the machine of a run was stopped after entry `number` with a cause other than planned, or with none.
fn was_stopped(run: &EarlierRun, number: u64, from_file: bool) -> bool {
    let mut unexplained = false;
    for event in since(run, number, from_file) {
        if event.stops_unplanned() {
            return true;
        }
        match event {
            Event::StopExplained { .. } => unexplained = false,
            Event::Stopped {
                cause: Cause::NotSaid,
                ..
            }
            | Event::CutEnded {
                cause: Cause::NotSaid,
                ..
            } => unexplained = true,
            _ => {}
        }
    }
    unexplained
}

/// Whether the last thing that a run says about a step after entry `number` differs from `answer`.
fn found_otherwise(
    run: &EarlierRun,
    (at, given): (&Instance, &Answer),
    number: u64,
    from_file: bool,
) -> bool {
    let last = since(run, number, from_file).filter(|event| {
        matches!(event, Event::Answered { at: of, .. } | Event::Refused { at: of, .. } if of == at)
    });
    match last.last() {
        Some(Event::Answered { answer, .. }) => answer != given,
        Some(_) => true,
        None => false,
    }
}
