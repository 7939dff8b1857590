//! The gate: every reason to hold cycle start, and the permission that only it can make.

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
    /// The step concerned, if it is one.
    pub at: Option<Instance>,
    /// Its title.
    pub title: String,
    /// Why.
    pub why: HoldReason,
}

/// Why cycle start is held.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum HoldReason {
    /// The machine must not be used.
    OutOfService(OutOfService),
    /// A step does not stand as it must.
    Step(AnswerStatus),
    /// A sign-off does not stand with the people as they are now.
    Signed(SignFault),
    /// People are registered, and the operator is none of them.
    NotListed,
    /// The program file is not the one examined.
    ProgramChanged,
    /// The program file cannot be read.
    ProgramGone,
    /// No release was given.
    NotReleased,
    /// The release lapsed.
    Lapsed {
        /// When.
        until: Moment,
    },
    /// The release was given on another state, or to somebody else.
    ReleasedOther,
    /// The release on record is good for longer than its step allows.
    ReleasedTooLong,
    /// The terminal that made the release is gone and another has come, or it could not store what came after the release.
    ReleaserGone,
    /// An answer of the run came from a file.
    FromFile,
    /// It is a person's run; no cut of it is assumed.
    NotFromFile,
    /// The latest time seen cannot be stored, so a clock set back would not show.
    TimeNotStored,
    /// The clock stands before the last thing recorded.
    ClockBack {
        /// The last thing recorded.
        latest: Moment,
    },
    /// The run was left and not taken up again.
    Left {
        /// How.
        how: String,
    },
    /// No terminal walks the run: the one that had the release is gone.
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
    /// Practice never releases a machine.
    Rehearsal,
    /// A real run never runs on the practice mill.
    NoRehearsal,
}

/// The permission to press cycle start: for one cut, on one state. Only this file can make one.
#[derive(Debug)]
pub struct Cleared {
    at: Instance,
    digest: Fingerprint,
}

impl Cleared {
    /// The cut it is for.
    pub fn at(&self) -> &Instance {
        &self.at
    }

    /// The digest of the state it is for.
    pub fn digest(&self) -> Fingerprint {
        self.digest
    }
}

/// The permission to press cycle start of the practice mill. Not a `Cleared`, and nothing turns one into the other: what
/// shows a real release cannot be handed this. Only this file can make one.
#[derive(Debug)]
pub struct PracticeCleared {
    at: Instance,
    digest: Fingerprint,
}

impl PracticeCleared {
    /// The cut it is for.
    pub fn at(&self) -> &Instance {
        &self.at
    }

    /// The digest of the state it is for.
    pub fn digest(&self) -> Fingerprint {
        self.digest
    }
}

/// Looks whether the practice mill's cycle start can be released now. Everything that holds a real run holds it too; only
/// that it is a rehearsal does not, and that it is none does.
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

/// Looks whether the practice mill's cycle start is released now.
pub fn practice_start(
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

/// Looks whether the next cut can be assumed, so that a run whose answers come from a file can go on. Everything that holds
/// a release holds it too, but for that an answer came from a file. It is no permission: it gives the cut alone.
pub fn assume(
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

/// Who asks whether cycle start is released, since the answer depends on it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Requester {
    /// The terminal that holds the run. Its clock never goes back.
    Holder,
    /// Somebody elsewhere.
    Elsewhere {
        /// Who holds the run at this moment: a release is for the person at the terminal that made it.
        held: Held,
        /// The latest time that anybody saw since the run's last entry.
        seen: LatestSeen,
    },
}

/// Which terminal holds a run.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Held {
    /// None.
    ByNobody,
    /// One that came after the last release.
    ByAnother,
    /// The one that made the last release, if there is any.
    ByReleaser,
}

/// The latest time that anybody saw since a run's last entry.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LatestSeen {
    /// This, and it is stored.
    Stored(Moment),
    /// It cannot be stored.
    NotStored,
}

/// Why a release is none for this cut now.
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
        // Before the release counts as after it: a clock that went back proves nothing.
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

/// Looks whether cycle start can be released now: the permission, or every reason to hold.
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

/// Looks whether cycle start is released now, as `asks` asks it: everything that the release needed, and a release that is
/// still good. The only way to ask, for terminals and for whoever looks on.
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

/// What holds it only for who asks from elsewhere. Where no terminal holds the run, as after a power cut, nobody is there to
/// use a release, though the record still has it.
fn elsewhere(state: &State, now: Moment, asks: Requester) -> Option<HoldReason> {
    let Requester::Elsewhere { held, seen } = asks else {
        return None;
    };
    match held {
        Held::ByReleaser => {}
        // A run that was left or is over is held for that.
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
    /// When a release of that cut, given at that moment, lapses at the latest.
    pub fn longest_release(&self, at: &Instance, from: Moment) -> Option<Moment> {
        let Some(Kind::Cut { release_for, .. }) = self.step(at).map(|s| &s.kind) else {
            return None;
        };
        let ms = i64::try_from(milliseconds(*release_for)).ok()?;
        from.plus_ms(ms)
    }
}

/// The cut that is next, and every reason against it but the release itself.
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

/// How many reasons there are, in words.
pub fn reasons(count: usize) -> String {
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
                format!("{title}: the file is not the one looked at; bytes changed")
            }
            HoldReason::ProgramGone => format!("{title}: the file cannot be read"),
            HoldReason::NotReleased => format!("{title}: cycle start is not released"),
            HoldReason::Lapsed { .. } => format!("{title}: the release has lapsed"),
            HoldReason::ReleasedOther => {
                format!("{title}: the release was for another state of the run")
            }
            HoldReason::ReleasedTooLong => {
                format!("{title}: the release on record is good for longer than the step allows")
            }
            HoldReason::ReleaserGone => {
                format!("{RELEASE_GONE}, or could not store what came after it")
            }
            HoldReason::FromFile => {
                "an answer of this run came from an answers file; it is never released".to_owned()
            }
            HoldReason::NotFromFile => {
                "the answers come from a person; no cut is assumed".to_owned()
            }
            HoldReason::TimeNotStored => {
                "the time cannot be stored beside the book, so a clock set back would not show"
                    .to_owned()
            }
            HoldReason::ClockBack { .. } => {
                "the clock stands before the latest time recorded or seen".to_owned()
            }
            HoldReason::Left { how } => format!("the run was left ({how})"),
            HoldReason::NoTerminal => "no terminal walks the run".to_owned(),
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

    /// What clears it.
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
                "end this run, write a role that there is into the procedure, and begin another"
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
                "put the file back, or go back to that step and look at the file again".to_owned()
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
            HoldReason::TimeNotStored => "make the folder beside the book writable".to_owned(),
            HoldReason::ClockBack { .. } => "set the computer's clock right".to_owned(),
            HoldReason::Left { .. } | HoldReason::NoTerminal => {
                "take the run up again with `skimgate walk`".to_owned()
            }
            HoldReason::Over | HoldReason::NoCutLeft => {
                "begin a new run with `skimgate walk`".to_owned()
            }
            HoldReason::StopNotExplained => "say in `skimgate walk` why it was stopped".to_owned(),
            HoldReason::CutUnderWay => "say in `skimgate walk` how it ended".to_owned(),
            HoldReason::Exhausted => "look again, or end this run and begin another".to_owned(),
            HoldReason::Rehearsal => "nothing; walk a real run".to_owned(),
            HoldReason::NoRehearsal => "nothing; `skimgate rehearse` begins a rehearsal".to_owned(),
        }
    }
}

impl AnswerStatus {
    /// How it stands, in words.
    pub fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::Holds => "holds".to_owned(),
            Self::Open => "not answered".to_owned(),
            Self::Fallen { because } => format!("no longer holds: {because}"),
            Self::Stale { fresh_for, .. } => {
                format!("answered more than {} ago", show.one(*fresh_for))
            }
            Self::ClockWentBack => {
                "answered before the clock went back, so its age cannot be told".to_owned()
            }
            Self::OtherPerson { by } => format!("answered by {by}, and asked of the person"),
            Self::SignedOtherState => "something changed since it was signed".to_owned(),
            Self::CutNotFinished { how } => format!("the cut was {how} before its end"),
        }
    }
}
