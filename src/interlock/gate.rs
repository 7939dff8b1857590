//! The gate: every reason to hold cycle start, and the permission to press it, which only the gate can make.

use super::answer::Origin;
use super::answer_status::{AnswerStatus, milliseconds};
use super::command::ProgramSeen;
use super::custody::RELEASE_GONE;
use super::instance::Instance;
use super::service::{CLEARS, OutOfService};
use super::signing::SignFault;
use super::state::{Release, State};
use crate::fingerprint::Fingerprint;
use crate::people::People;
use crate::procedure::Kind;
use crate::quantity::format::QuantityFormat;
use crate::quantity::moment::Moment;

/// One reason to hold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hold {
    /// The step concerned, if there is one.
    pub at: Option<Instance>,
    /// The title of that step.
    pub title: String,
    /// The reason.
    pub why: HoldReason,
}

/// Why cycle start is held.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum HoldReason {
    /// The machine must not be used.
    OutOfService(OutOfService),
    /// A step has no valid answer.
    Step(AnswerStatus),
    /// A sign-off is not valid with the list of people as it is now.
    Signed(SignFault),
    /// People are registered, and the operator is not one of them.
    NotListed,
    /// The program file is not the one that was examined.
    ProgramChanged,
    /// The program file cannot be read.
    ProgramGone,
    /// No release was given.
    NotReleased,
    /// The release lapsed.
    Lapsed {
        /// When it lapsed.
        until: Moment,
    },
    /// The release was given for another state, or to another person.
    ReleasedOther,
    /// The recorded release is longer than its step allows.
    ReleasedTooLong,
    /// The terminal that made the release no longer exists and another one has the run, or the first could not store
    /// what happened after the release.
    ReleaserGone,
    /// An answer of the run came from a file.
    FromFile,
    /// The answers come from a person, so no cut is assumed.
    NotFromFile,
    /// The latest time seen cannot be stored, so nobody would notice a clock that is set back.
    TimeNotStored,
    /// The clock shows a time before the last event.
    ClockBack {
        /// The time of the last event.
        latest: Moment,
    },
    /// The run was left and not resumed.
    Left {
        /// How it was left, in words.
        how: String,
    },
    /// No terminal has the run: the one with the release no longer exists.
    NoTerminal,
    /// The run is over.
    Over,
    /// A cut is under way.
    CutUnderWay,
    /// The machine was stopped, and nobody has said why.
    StopNotExplained,
    /// No cut is left.
    NoCutLeft,
    /// All passes are used up and skin is left.
    Exhausted,
    /// The run is a rehearsal, which never releases a machine.
    Rehearsal,
    /// The run is a real run, which never uses the practice mill.
    NoRehearsal,
}

/// The permission to press cycle start, for one cut in one state. Only this file can make one.
#[derive(Debug)]
pub struct Cleared {
    at: Instance,
    digest: Fingerprint,
}

impl Cleared {
    /// The cut it is for.
    pub(crate) fn at(&self) -> &Instance {
        &self.at
    }

    /// The digest of the state it is for.
    pub(crate) fn digest(&self) -> Fingerprint {
        self.digest
    }
}

/// The permission to press cycle start of the practice mill. It is not a `Cleared` and cannot be turned into one, so
/// code that shows a real release cannot be given this. Only this file can make one.
#[derive(Debug)]
pub struct PracticeCleared {
    at: Instance,
    digest: Fingerprint,
}

impl PracticeCleared {
    /// The cut it is for.
    pub(crate) fn at(&self) -> &Instance {
        &self.at
    }

    /// The digest of the state it is for.
    pub(crate) fn digest(&self) -> Fingerprint {
        self.digest
    }
}

/// Checks whether the practice mill's cycle start can be released now. Everything that holds a real run holds it too,
/// with one exception: being a rehearsal is no reason to hold here, and being a real run is one.
pub fn practice(
    state: &State,
    now: Moment,
    program: ProgramSeen,
) -> Result<PracticeCleared, Vec<Hold>> {
    let (cut, holds) = next_cut_and_reasons(state, now, program, &People::default());
    let mut holds: Vec<Hold> = holds
        .into_iter()
        .filter(|h| h.why != HoldReason::Rehearsal)
        .collect();
    if !state.begun.rehearsal {
        holds.push(of_run(HoldReason::NoRehearsal));
    }
    match cut {
        Some(at) if holds.is_empty() => {
            let digest = state.digest_before(&at);
            Ok(PracticeCleared { at, digest })
        }
        _ => Err(holds),
    }
}

/// Checks whether the practice mill's cycle start is released now.
pub(crate) fn practice_start(
    state: &State,
    now: Moment,
    program: ProgramSeen,
) -> Result<PracticeCleared, Vec<Hold>> {
    let permitted = practice(state, now, program)?;
    let why = unreleased(state, now, state.practice.as_ref(), &permitted.at);
    match why {
        None => Ok(permitted),
        Some(why) => Err(vec![Hold {
            title: state
                .step(&permitted.at)
                .map_or(String::new(), |s| s.title.clone()),
            at: Some(permitted.at),
            why,
        }]),
    }
}

/// Checks whether the next cut can be assumed, so that a run whose answers come from a file can continue. Everything
/// that holds a release holds this too, except that an answer came from a file. The result is no permission, only the
/// cut.
pub(crate) fn assume(
    state: &State,
    now: Moment,
    program: ProgramSeen,
    people: &People,
) -> Result<Instance, Vec<Hold>> {
    let (cut, mut holds) = next_cut_and_reasons(state, now, program, people);
    holds.retain(|h| h.why != HoldReason::FromFile);
    if state.origin != Origin::AnswersFile {
        holds.push(of_run(HoldReason::NotFromFile));
    }
    match cut {
        Some(at) if holds.is_empty() => Ok(at),
        _ => Err(holds),
    }
}

/// Who asks whether cycle start is released. The answer depends on it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Requester {
    /// The terminal that holds the run. Its clock never goes back.
    Holder,
    /// Anybody else, for example another terminal.
    Elsewhere {
        /// Which terminal holds the run now. A release is only for the person at the terminal that made it.
        held: Held,
        /// The latest time that any terminal saw since the run's last event.
        seen: LatestSeen,
    },
}

/// Which terminal holds a run.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Held {
    /// No terminal holds it.
    ByNobody,
    /// A terminal that claimed the run after the last release.
    ByAnother,
    /// The terminal that made the last release, if there is one.
    ByReleaser,
}

/// The latest time that any terminal saw since a run's last event.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LatestSeen {
    /// This time, and it is stored.
    Stored(Moment),
    /// The time cannot be stored.
    NotStored,
}

/// Why a release does not release this cut now; `None` if it does.
fn unreleased(
    state: &State,
    now: Moment,
    release: Option<&Release>,
    at: &Instance,
) -> Option<HoldReason> {
    match release {
        None => Some(HoldReason::NotReleased),
        Some(r) if r.at != *at || r.digest != state.digest_before(at) || r.to != state.operator => {
            Some(HoldReason::ReleasedOther)
        }
        // A time before the release counts as lapsed, because a clock that went back proves nothing.
        Some(r) if now > r.until || now < r.from => Some(HoldReason::Lapsed { until: r.until }),
        Some(r)
            if state
                .longest_release(at, r.from)
                .is_none_or(|end| r.until > end) =>
        {
            Some(HoldReason::ReleasedTooLong)
        }
        Some(_) => None,
    }
}

/// Checks whether cycle start can be released now: gives the permission, or every reason to hold.
pub fn release(
    state: &State,
    now: Moment,
    program: ProgramSeen,
    people: &People,
) -> Result<Cleared, Vec<Hold>> {
    let (cut, holds) = next_cut_and_reasons(state, now, program, people);
    match cut {
        Some(at) if holds.is_empty() => {
            let digest = state.digest_before(&at);
            Ok(Cleared { at, digest })
        }
        _ => Err(holds),
    }
}

/// Checks whether cycle start is released now, for the requester `asks`: everything that the release needed, and a
/// release that has not lapsed. This is the only way to ask, for the terminal with the run and for all others.
pub fn start(
    state: &State,
    now: Moment,
    program: ProgramSeen,
    people: &People,
    asks: Requester,
) -> Result<Cleared, Vec<Hold>> {
    let (cut, mut holds) = next_cut_and_reasons(state, now, program, people);
    holds.extend(elsewhere(state, now, asks).map(of_run));
    let Some(at) = cut else {
        return Err(holds);
    };
    let digest = state.digest_before(&at);
    let title = state.step(&at).map_or(String::new(), |s| s.title.clone());
    let why = unreleased(state, now, state.release.as_ref(), &at);
    holds.extend(why.map(|why| Hold {
        at: Some(at.clone()),
        title,
        why,
    }));
    if holds.is_empty() {
        Ok(Cleared { at, digest })
    } else {
        Err(holds)
    }
}

/// The reason to hold that counts only for requesters elsewhere. Where no terminal holds the run, for example after a
/// power cut, nobody can use the release, although the record still has it.
fn elsewhere(state: &State, now: Moment, asks: Requester) -> Option<HoldReason> {
    let Requester::Elsewhere { held, seen } = asks else {
        return None;
    };
    match held {
        Held::ByReleaser => {}
        // A run that was left or is over has its own reason to hold.
        Held::ByNobody => {
            return (state.left.is_none() && state.ended.is_none())
                .then_some(HoldReason::NoTerminal);
        }
        Held::ByAnother => return state.release.is_some().then_some(HoldReason::ReleaserGone),
    }
    match seen {
        LatestSeen::NotStored => Some(HoldReason::TimeNotStored),
        LatestSeen::Stored(latest) if now < latest && now >= state.latest => {
            Some(HoldReason::ClockBack { latest })
        }
        LatestSeen::Stored(_) => None,
    }
}

fn of_run(why: HoldReason) -> Hold {
    Hold {
        at: None,
        title: String::new(),
        why,
    }
}

impl State {
    /// The latest time at which a release of the cut `at`, given at `from`, lapses.
    pub(crate) fn longest_release(&self, at: &Instance, from: Moment) -> Option<Moment> {
        let Some(Kind::Cut { release_for, .. }) = self.step(at).map(|s| &s.kind) else {
            return None;
        };
        let ms = i64::try_from(milliseconds(*release_for)).ok()?;
        from.plus_ms(ms)
    }
}

/// The next cut, and every reason to hold it except those that concern the release.
fn next_cut_and_reasons(
    state: &State,
    now: Moment,
    program: ProgramSeen,
    people: &People,
) -> (Option<Instance>, Vec<Hold>) {
    let mut holds: Vec<Hold> = of_the_run(state, now).into_iter().map(of_run).collect();
    if !people.is_empty() && people.active(&state.operator).is_none() {
        holds.push(of_run(HoldReason::NotListed));
    }
    let mut cut = None;
    for (place, standing) in state.answer_statuses(now) {
        let at = place.instance();
        if let Kind::Cut { .. } = place.step.kind
            && !state.is_finished(&at)
        {
            cut = Some(at);
            break;
        }
        let signed = || {
            let answer = state.answer(&at)?;
            state.check_signed(&at, answer, people).err()
        };
        let why = if standing == AnswerStatus::Holds {
            signed().map(HoldReason::Signed)
        } else {
            Some(HoldReason::Step(standing))
        };
        holds.extend(why.map(|why| Hold {
            at: Some(at.clone()),
            title: place.step.title.clone(),
            why,
        }));
    }
    if let Some((at, _, fingerprint)) = state.program()
        && program != Some(fingerprint)
    {
        let title = state.step(at).map_or(String::new(), |s| s.title.clone());
        let why = if program.is_some() {
            HoldReason::ProgramChanged
        } else {
            HoldReason::ProgramGone
        };
        holds.push(Hold {
            at: Some(at.clone()),
            title,
            why,
        });
    }
    if cut.is_none() {
        holds.push(of_run(HoldReason::NoCutLeft));
    }
    (cut, holds)
}

fn of_the_run(state: &State, now: Moment) -> Vec<HoldReason> {
    let mut found = Vec::new();
    if let Some(seen) = &state.out_of_service {
        found.push(HoldReason::OutOfService(seen.clone()));
    }
    if state.begun.rehearsal {
        found.push(HoldReason::Rehearsal);
    }
    if state.from_file {
        found.push(HoldReason::FromFile);
    }
    if state.ended.is_some() {
        found.push(HoldReason::Over);
    }
    if let Some(how) = &state.left {
        found.push(HoldReason::Left { how: how.clone() });
    }
    if state.cutting.is_some() {
        found.push(HoldReason::CutUnderWay);
    }
    if state.open_stop.is_some() {
        found.push(HoldReason::StopNotExplained);
    }
    if now < state.latest {
        found.push(HoldReason::ClockBack {
            latest: state.latest,
        });
    }
    if state.exhausted().is_some() {
        found.push(HoldReason::Exhausted);
    }
    found
}

/// The number of reasons in words.
pub(crate) fn reasons(count: usize) -> String {
    match count {
        1 => "1 reason".to_owned(),
        n => format!("{n} reasons"),
    }
}

impl Hold {
    /// The reason in words.
    pub fn words(&self, show: &QuantityFormat) -> String {
        let title = &self.title;
        match &self.why {
            HoldReason::OutOfService(seen) => {
                format!("the machine is out of service. {}", seen.words())
            }
            HoldReason::Step(standing) => format!("{title}: {}", standing.words(show)),
            HoldReason::Signed(fault) => format!("{title}: {fault}"),
            HoldReason::NotListed => {
                "the operator is not on the list of people, or is retired".to_owned()
            }
            HoldReason::ProgramChanged => {
                format!("{title}: the file is not the one that was examined; its bytes changed")
            }
            HoldReason::ProgramGone => format!("{title}: the file cannot be read"),
            HoldReason::NotReleased => format!("{title}: cycle start is not released"),
            HoldReason::Lapsed { .. } => format!("{title}: the release has lapsed"),
            HoldReason::ReleasedOther => {
                format!("{title}: the release was for another state of the run")
            }
            HoldReason::ReleasedTooLong => {
                format!("{title}: the recorded release is longer than the step allows")
            }
            HoldReason::ReleaserGone => {
                format!("{RELEASE_GONE}, or could not store what came after it")
            }
            HoldReason::FromFile => {
                "an answer of this run came from an answers file; it is never released".to_owned()
            }
            HoldReason::NotFromFile => {
                "the answers come from a person, so no cut is assumed".to_owned()
            }
            HoldReason::TimeNotStored => {
                "the time cannot be stored next to the book, so a clock that is set back would not be noticed"
                    .to_owned()
            }
            HoldReason::ClockBack { .. } => {
                "the clock shows a time before the latest one recorded or seen".to_owned()
            }
            HoldReason::Left { how } => format!("the run was left ({how})"),
            HoldReason::NoTerminal => "no terminal has the run open".to_owned(),
            HoldReason::Over => "the run is over".to_owned(),
            HoldReason::CutUnderWay => "a cut is under way".to_owned(),
            HoldReason::StopNotExplained => {
                "the machine was stopped, and nobody has said why".to_owned()
            }
            HoldReason::NoCutLeft => "no cut is left in this run".to_owned(),
            HoldReason::Exhausted => "every pass is used up and skin is left".to_owned(),
            HoldReason::Rehearsal => "this is a rehearsal; it never releases a machine".to_owned(),
            HoldReason::NoRehearsal => "this is a real run; it has no practice mill".to_owned(),
        }
    }

    /// What clears the reason, in words.
    pub fn clears(&self) -> String {
        match &self.why {
            HoldReason::OutOfService(_) => CLEARS.to_owned(),
            HoldReason::Signed(SignFault::NotOfRole(_, role)) => {
                format!(
                    "hand the run over to {}, who signs",
                    super::signing::signer(*role)
                )
            }
            HoldReason::Signed(SignFault::RoleUnlisted(_)) => {
                "begin the list of people with `skimgate people add`, then sign again".to_owned()
            }
            HoldReason::Signed(SignFault::NoRole(_)) => {
                "end this run, write a role that exists into the procedure, and begin another"
                    .to_owned()
            }
            HoldReason::Step(AnswerStatus::SignedOtherState) | HoldReason::Signed(_) => {
                "sign again".to_owned()
            }
            HoldReason::NotListed => {
                "hand the run over to somebody on the list, or let an owner add them".to_owned()
            }
            HoldReason::Step(_) => "answer it in `skimgate walk`".to_owned(),
            HoldReason::ProgramChanged | HoldReason::ProgramGone => {
                "put the old file back, or go back to that step and examine the file again"
                    .to_owned()
            }
            HoldReason::NotReleased
            | HoldReason::Lapsed { .. }
            | HoldReason::ReleasedOther
            | HoldReason::ReleasedTooLong
            | HoldReason::ReleaserGone => "ask for the release again in `skimgate walk`".to_owned(),
            HoldReason::FromFile => {
                "end this run and begin another in a terminal at the machine".to_owned()
            }
            HoldReason::NotFromFile => "nothing; go on at the terminal".to_owned(),
            HoldReason::TimeNotStored => "make the book's folder writable".to_owned(),
            HoldReason::ClockBack { .. } => "set the computer's clock right".to_owned(),
            HoldReason::Left { .. } | HoldReason::NoTerminal => {
                "resume the run with `skimgate walk`".to_owned()
            }
            HoldReason::Over | HoldReason::NoCutLeft => {
                "begin a new run with `skimgate walk`".to_owned()
            }
            HoldReason::StopNotExplained => "say in `skimgate walk` why it was stopped".to_owned(),
            HoldReason::CutUnderWay => "say in `skimgate walk` how it ended".to_owned(),
            HoldReason::Exhausted => "inspect again, or end this run and begin another".to_owned(),
            HoldReason::Rehearsal => "nothing; walk a real run".to_owned(),
            HoldReason::NoRehearsal => "nothing; `skimgate rehearse` begins a rehearsal".to_owned(),
        }
    }
}

impl AnswerStatus {
    /// The status in words.
    pub fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::Holds => "holds".to_owned(),
            Self::Open => "not answered".to_owned(),
            Self::Running { .. } => "its time has not run yet".to_owned(),
            Self::Invalidated { because } => format!("no longer holds: {because}"),
            Self::Stale { fresh_for, .. } => {
                format!("answered more than {} ago", show.one(*fresh_for))
            }
            Self::ClockWentBack => {
                "answered before the clock went back, so its age is not known".to_owned()
            }
            Self::OtherPerson { by } => {
                format!("answered by {by}, but each operator must answer it")
            }
            Self::SignedOtherState => "something changed since it was signed".to_owned(),
            Self::CutNotFinished { how } => format!("the cut was {how} before its end"),
        }
    }
}
