//! The planted faults, which the search must find. Each is placed between the search and the real rules, or in the
//! procedure or the book's rule, so that the rules themselves do not change.
//!
//! Most rules are protected twice (an answer that a change invalidates also no longer matches the signed digest), so
//! some faults break both at once. Breaking only one would change nothing that can be seen.

use crate::list::{self, LEARNER_ALONE};
use crate::world::PEOPLE;
use skimgate::interlock::answer::{Answer, Origin};
use skimgate::interlock::command::{GivenAnswer, ProgramSeen};
use skimgate::interlock::event::{Event, Outcome};
use skimgate::interlock::refusal::Refusal;
use skimgate::interlock::signing::SignatureRole;
use skimgate::interlock::{Command, Elsewhere, Instance, MachineContinuity, State, decide};
use skimgate::people::Role;
use skimgate::procedure::model::Kind;
use skimgate::procedure::{Procedure, Step};
use skimgate::quantity::moment::Moment;
use skimgate::quantity::{Exact, Quantity, Unit};
use std::sync::Arc;

/// A planted fault.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fault {
    /// A change after the sign-off leaves the signature valid.
    SignatureOutlivesChange,
    /// Handing over leaves the release valid.
    HandoverKeepsRelease,
    /// A start does not use up the release.
    StartSpendsNothing,
    /// A start needs no release.
    StartNeedsNoRelease,
    /// A release never lapses.
    ReleaseNeverLapses,
    /// A release is valid although it was recorded for longer than its step allows.
    LongReleaseCounts,
    /// For other terminals, a lapsed release becomes valid again when the clock is set back.
    LapsedLivesAgain,
    /// Answers from a file continue a cut that a person started.
    FileTakesUpCut,
    /// A run with an answer from a file can be released.
    FileReleases,
    /// The age of an answer is not checked.
    NothingGoesStale,
    /// A clock that went back is not noticed.
    ClockBackUnseen,
    /// A hard limit can be accepted with a reason.
    HardTakenForSoft,
    /// Answers that are asked of the person stay valid for the next operator.
    HandoverKeepsAnswers,
    /// The program file is not checked again.
    ProgramNotLookedAt,
    /// A terminal with an old view may write.
    OldViewMayWrite,
    /// A rehearsal can be released.
    RehearsalReleases,
    /// Only direct dependencies of a change become invalid, indirect ones do not.
    OnlyDirectFalls,
    /// An emergency stop leaves positions valid.
    EmergencyLeavesPositions,
    /// Heights stay valid after something was hit.
    HitLeavesHeights,
    /// Answers are accepted before the cause of a stop is recorded.
    StopNeedsNoCause,
    /// Another answer clears a machine that is out of service.
    OtherAnswerClears,
    /// Leaving and resuming a run puts the machine back in service.
    LeavingClears,
    /// A machine is put back without a reason.
    NoReasonNeeded,
    /// Anybody on the list puts a machine back.
    AnybodyPutsBack,
    /// A run with answers from a file puts a machine back.
    FilePutsBack,
    /// A machine that lost its power while the run was left counts as homed.
    PowerLostKeepsHome,
    /// The same during a cut.
    LostInCutKeepsHome,
    /// A run is resumed without a question about the machine.
    MachineNotAskedAbout,
    /// A reason given once covers every later value.
    ReasonOutlivesValue,
    /// A run that was left cannot be resumed.
    LeftForGood,
    /// A run may end as complete with open questions.
    CompleteTooSoon,
    /// Leaving a run does not hold its start.
    LeavingHoldsNothing,
    /// A learner counts as a person who may run alone.
    LearnerRunsAlone,
    /// Two signatures of one person count as those of two people.
    OneSignsTwice,
    /// A signer who retired after signing still counts.
    RetiredSignerCounts,
    /// A key that was replaced after signing still counts.
    OldKeyCounts,
    /// The second signer for a learner need not be a trainer.
    AnybodyBeside,
    /// The list changed between release and start, but the start is decided by the old list.
    StartByOldList,
    /// A person who is not an owner can take a run over.
    AnybodyTakesOver,
    /// A release stays valid after its run is taken over.
    TakeOverKeepsRelease,
    /// A sign-off of the owner stays valid after the owner takes the run over.
    TakeOverKeepsSignature,
    /// The key used for taking over is not checked.
    AnyKeyTakesOver,
    /// A terminal that a run was taken over from may still write.
    OldHolderMayWrite,
    /// The role of a hold point is not checked.
    AnyRoleSigns,
    /// A stop is recorded without its origin.
    StopSaysNoOrigin,
    /// The active codes are not compared with the program.
    OtherOffsetPasses,
    /// The active codes are not compared with the earlier reading.
    ReadingsMayDiffer,
    /// A code that endangers needs no reason.
    LeftOverNeedsNoReason,
}

impl Fault {
    /// The procedure with the fault in it.
    pub fn procedure(fault: Option<Self>, mut procedure: Procedure) -> Procedure {
        for step in procedure.phases.iter_mut().flat_map(|p| &mut p.steps) {
            match fault {
                Some(Self::NothingGoesStale) => step.fresh_for = None,
                Some(Self::ReleaseNeverLapses) => lasts_long(step),
                Some(Self::HandoverKeepsAnswers) => step.of_person = false,
                Some(Self::AnyRoleSigns) => {
                    if let Kind::Sign { role, .. } = &mut step.kind {
                        "operator".clone_into(role);
                    }
                }
                Some(Self::EmergencyLeavesPositions) => step.after_lost_position = false,
                Some(Self::ReadingsMayDiffer) => {
                    if let Kind::Codes(codes) = &mut step.kind {
                        codes.same_as = None;
                    }
                }
                Some(Self::HardTakenForSoft) => {
                    if let Kind::Read { limits, .. } | Kind::WorkOut { limits, .. } = &mut step.kind
                    {
                        let hard = std::mem::take(&mut limits.must);
                        limits.expect.extend(hard);
                    }
                }
                _ => {}
            }
        }
        procedure
    }

    /// Decides with the real rules, except for the fault.
    pub fn decide(
        fault: Option<Self>,
        state: &State,
        now: Moment,
        command: &Command,
    ) -> Result<Vec<Event>, Refusal> {
        match (fault, command) {
            (
                Some(Self::OtherOffsetPasses),
                Command::Answer {
                    said: GivenAnswer::Codes(_),
                    ..
                },
            ) => {
                let mut unseen = state.clone();
                for given in unseen.answers.values_mut() {
                    if let Answer::File { examined, .. } = &mut given.answer {
                        *examined = None;
                    }
                }
                decide(&unseen, now, command)
            }
            (
                Some(Self::LeftOverNeedsNoReason),
                Command::Answer {
                    at,
                    said: said @ GivenAnswer::Codes(_),
                    accept: None,
                },
            ) => {
                let with_reason = Command::Answer {
                    at: at.clone(),
                    said: said.clone(),
                    accept: Some("none".to_owned()),
                };
                let mut events = decide(state, now, &with_reason)?;
                events.retain(|e| !matches!(e, Event::Accepted { .. }));
                Ok(events)
            }
            (Some(Self::ProgramNotLookedAt), Command::Release { .. }) => decide(
                state,
                now,
                &Command::Release {
                    program: examined(state),
                    people: Arc::default(),
                },
            ),
            (Some(Self::ProgramNotLookedAt), Command::Start { .. }) => decide(
                state,
                now,
                &Command::Start {
                    program: examined(state),
                    people: Arc::default(),
                },
            ),
            (Some(Self::RehearsalReleases), Command::Release { .. } | Command::Start { .. }) => {
                let mut real = state.clone();
                real.begun.rehearsal = false;
                // The digest includes whether it is a rehearsal, so both sides of the comparison must use the same
                // state.
                stamp(&mut real);
                decide(&real, now, command)
            }
            (Some(Self::FileReleases), Command::Release { .. } | Command::Start { .. })
            | (Some(Self::FilePutsBack), Command::PutBack { .. }) => {
                let mut typed = state.clone();
                typed.from_file = false;
                decide(&typed, now, command)
            }
            (
                Some(Self::FileTakesUpCut),
                Command::Resume {
                    from: Origin::AnswersFile,
                    ..
                },
            ) => {
                let mut typed = state.clone();
                typed.from_file = true;
                decide(&typed, now, command)
            }
            (Some(Self::LongReleaseCounts), Command::Start { .. }) => {
                let mut long = state.clone();
                let mut procedure = Procedure::clone(&long.procedure);
                procedure
                    .phases
                    .iter_mut()
                    .flat_map(|p| &mut p.steps)
                    .for_each(lasts_long);
                long.procedure = Arc::new(procedure);
                decide(&long, now, command)
            }
            (Some(Self::LeavingHoldsNothing), Command::Release { .. } | Command::Start { .. }) => {
                let mut here = state.clone();
                here.left = None;
                decide(&here, now, command)
            }
            (Some(Self::LearnerRunsAlone), _)
                if Self::list_of(command) == Some(0)
                    && !matches!(command, Command::TakeOver { .. }) =>
            {
                decide(state, now, &with_list(state, command, LEARNER_ALONE))
            }
            (Some(Self::OneSignsTwice), Command::Sign { initials, with, .. })
                if with.second.as_ref().is_some_and(|(who, _)| who == initials)
                    && Self::list_of(command) == Some(0) =>
            {
                let mut alone = with_list(state, command, LEARNER_ALONE);
                if let Command::Sign { with, .. } = &mut alone {
                    with.second = None;
                }
                decide(state, now, &alone)
            }
            (
                Some(
                    fault @ (Self::RetiredSignerCounts | Self::OldKeyCounts | Self::AnybodyBeside),
                ),
                Command::Release { .. } | Command::Start { .. },
            ) if Self::list_of(command).is_some_and(|list| fault.unseen().contains(&list)) => {
                decide(state, now, &with_list(state, command, 0))
            }
            (Some(Self::AnyKeyTakesOver), Command::TakeOver { by, people, .. })
                if people.active(by).is_some_and(|l| l.person.is(Role::Owner)) =>
            {
                decide(state, now, &resume(by))
            }
            (Some(Self::StartByOldList), Command::Start { .. })
                if Self::list_of(command).is_some_and(|list| list > 0) =>
            {
                decide(state, now, &with_list(state, command, 0))
            }
            (Some(Self::StopNeedsNoCause), _) if state.open_stop.is_some() => {
                let mut explained = state.clone();
                explained.open_stop = None;
                decide(&explained, now, command)
            }
            (Some(Self::OtherAnswerClears), Command::Answer { .. })
                if state.out_of_service.is_some() =>
            {
                let mut cleared = state.clone();
                cleared.out_of_service = None;
                decide(&cleared, now, command)
            }
            (Some(Self::NoReasonNeeded), Command::PutBack { by, .. })
                if state.out_of_service.is_some() =>
            {
                Ok(vec![put_back(by)])
            }
            (Some(Self::AnybodyPutsBack), Command::PutBack { by, reason, .. })
                if state.out_of_service.is_some() && reason != "homed" =>
            {
                Ok(vec![put_back(by)])
            }
            (Some(Self::AnybodyTakesOver), Command::TakeOver { by, .. })
            | (
                Some(Self::PowerLostKeepsHome),
                Command::Resume {
                    by, kept: Some(_), ..
                },
            )
            | (Some(Self::MachineNotAskedAbout), Command::Resume { by, kept: None, .. }) => {
                decide(state, now, &resume(by))
            }
            (Some(Self::LeftForGood), Command::Resume { .. }) if state.left.is_some() => {
                Err(Refusal::Over)
            }
            (Some(Self::StartNeedsNoRelease), Command::Start { program, people }) => {
                let release = Command::Release {
                    program: *program,
                    people: Arc::clone(people),
                };
                let mut released = state.clone();
                for event in decide(state, now, &release)? {
                    released.apply(now, &event);
                }
                decide(&released, now, command)
            }
            (
                Some(Self::CompleteTooSoon),
                Command::End {
                    outcome: Outcome::Complete,
                },
            ) if state.cutting.is_none() => {
                let by = state.operator.clone();
                Ok(vec![Event::Ended {
                    outcome: Outcome::Complete,
                    by,
                    from: Some(state.origin),
                }])
            }
            (Some(Self::StopSaysNoOrigin), Command::Stop { .. }) => {
                let mut events = decide(state, now, command)?;
                for event in &mut events {
                    if let Event::Stopped { from, .. } = event {
                        *from = None;
                    }
                }
                Ok(events)
            }
            _ => decide(state, now, command),
        }
    }

    /// The lists whose change the fault hides.
    fn unseen(self) -> &'static [u8] {
        match self {
            Self::RetiredSignerCounts => &[1, 2],
            Self::OldKeyCounts => &[3],
            Self::AnybodyBeside => &[4],
            _ => &[],
        }
    }

    /// The list of people in a command, where people are registered.
    fn list_of(command: &Command) -> Option<u8> {
        let people = command.people()?;
        (!people.is_empty()).then(|| list::number(people))
    }

    /// Applies events with the real rules, except for the fault.
    pub fn apply(fault: Option<Self>, state: &mut State, at: Moment, event: &Event) {
        let before = state.release.clone();
        match (fault, event) {
            (Some(Self::SignatureOutlivesChange), Event::Voided { steps, because }) => {
                let steps = without(steps, |of| is_sign(state, of));
                let because = because.clone();
                state.apply(at, &Event::Voided { steps, because });
            }
            (Some(Self::HitLeavesHeights), Event::Voided { steps, because })
                if because == "something was hit" =>
            {
                let touched = |of: &Instance| {
                    let kind = state.step(of).map(|s| &s.kind);
                    matches!(kind, Some(Kind::Touch(_) | Kind::WorkOut { .. }))
                };
                let steps = without(steps, touched);
                let because = because.clone();
                state.apply(at, &Event::Voided { steps, because });
            }
            (Some(Self::TakeOverKeepsSignature), Event::Voided { because, .. })
                if because.starts_with("the run was taken over") => {}
            (Some(Self::OnlyDirectFalls), Event::Voided { steps, because })
                if because.starts_with("Which cutter") =>
            {
                let steps = without(steps, |of| of.step == "plane");
                let because = because.clone();
                state.apply(at, &Event::Voided { steps, because });
            }
            (
                Some(Self::LongReleaseCounts),
                Event::Released {
                    at: of, to, digest, ..
                },
            ) => {
                let until = at.plus_ms(100 * 60_000).unwrap();
                let (at_cut, to) = (of.clone(), to.clone());
                let event = Event::Released {
                    at: at_cut,
                    until,
                    to,
                    digest: *digest,
                };
                state.apply(at, &event);
            }
            (Some(Self::ReasonOutlivesValue), Event::Answered { at: of, .. }) => {
                let deviation = state.deviations.get(of).cloned();
                state.apply(at, event);
                state.deviations.extend(deviation.map(|d| (of.clone(), d)));
            }
            _ => state.apply(at, event),
        }
        match (fault, event) {
            (Some(Self::LostInCutKeepsHome), Event::Resumed { .. }) => state.shaken.clear(),
            (Some(Self::LeavingClears), Event::Resumed { .. })
            | (Some(Self::OtherAnswerClears), Event::Answered { .. }) => {
                state.out_of_service = None;
            }
            (Some(Self::SignatureOutlivesChange), _) => stamp(state),
            (Some(Self::ClockBackUnseen), _) => state.stretch = 0,
            (Some(Self::HandoverKeepsRelease), Event::HandedOver { .. })
            | (Some(Self::StartSpendsNothing), Event::CutStarted { .. })
            | (Some(Self::TakeOverKeepsRelease), Event::TakenOver { .. }) => state.release = before,
            (Some(Self::HandoverKeepsRelease), Event::Voided { because, .. })
                if because.starts_with("the run was handed over") =>
            {
                state.release = before;
            }
            (Some(Self::TakeOverKeepsRelease), Event::Voided { because, .. })
                if because.starts_with("the run was taken over") =>
            {
                state.release = before;
            }
            _ => {}
        }
    }
}

fn resume(by: &str) -> Command {
    Command::Resume {
        by: by.to_owned(),
        from: Origin::Terminal,
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    }
}

fn put_back(by: &str) -> Event {
    Event::BackInService {
        reason: String::new(),
        by: by.to_owned(),
        proof: None,
        list: None,
        from: Some(Origin::Terminal),
    }
}

/// The command with another list of people, signed over this list.
fn with_list(state: &State, command: &Command, list: u8) -> Command {
    let mut command = command.clone();
    let people = list::people(list);
    command.set_people(Arc::clone(&people));
    if let Command::Sign {
        at, initials, with, ..
    } = &mut command
    {
        let digest = state.digest_before(at);
        let sign = |part, who: &str| {
            let signs_as = state.signs_as(at, part, who, &people);
            let covered = Some(people.digest());
            let text = state.text_to_sign(at, part, who, signs_as, digest, covered);
            let of = PEOPLE.iter().position(|p| *p == who).unwrap();
            list::key_of(u8::try_from(of).unwrap(), 0).sign(&text)
        };
        with.first = Some(sign(SignatureRole::First, initials));
        if let Some((who, signature)) = &mut with.second {
            *signature = sign(SignatureRole::Second, who);
        }
    }
    command
}

/// Makes a release of this step almost endless.
fn lasts_long(step: &mut Step) {
    if let Kind::Cut { release_for, .. } = &mut step.kind {
        *release_for = Quantity::of(Exact::whole(100), &Unit::find("min").unwrap()).unwrap();
    }
}

fn without(steps: &[Instance], drop: impl Fn(&Instance) -> bool) -> Vec<Instance> {
    steps.iter().filter(|of| !drop(of)).cloned().collect()
}

fn is_sign(state: &State, of: &Instance) -> bool {
    state
        .step(of)
        .is_some_and(|s| matches!(s.kind, Kind::Sign { .. }))
}

fn examined(state: &State) -> ProgramSeen {
    state.program().map(|(_, _, fingerprint)| fingerprint)
}

/// Changes every signature to one over the present state.
fn stamp(state: &mut State) {
    let signs: Vec<Instance> = state
        .answers
        .keys()
        .filter(|of| is_sign(state, of))
        .cloned()
        .collect();
    for of in signs {
        let now = state.digest_before(&of);
        if let Some(given) = state.answers.get_mut(&of)
            && let Answer::Signed { digest, .. } = &mut given.answer
        {
            *digest = now;
        }
    }
}
