//! The events of a run, in the form in which they are stored. Names and fields are only ever added: every stored event
//! must always load.

use super::answer::{Answer, CodesRead, Origin, Proof, SigningMethod};
use super::elsewhere::AlsoInUse;
use super::instance::Instance;
use super::service::OutOfService;
use super::standing::SeenEarlier;
use super::stopping::{Cause, CutEnd, MachineContinuity, cause};
use crate::fingerprint::Fingerprint;
use crate::plate::Reading;
use crate::quantity::moment::Moment;
use crate::quantity::{Length, UnitSystem};
use serde::{Deserialize, Serialize};

/// The version stored with each event. Version 5 says where an answer came from and why a cut or a run was stopped. The
/// test file `tests/books/events-4.sqlite3` is a book of version 4, which must always load.
pub(crate) const VERSION: u32 = 5;

/// An event with its time.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TimedEvent {
    /// The time at which it happened.
    pub at: Moment,
    /// The event.
    pub event: Event,
}

/// The data that a run begins with.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct RunStart {
    /// The run's id.
    pub run: String,
    /// Whether this run is a rehearsal. A rehearsal can never release a real machine.
    pub rehearsal: bool,
    /// The path of the answers file; `None` where a person answers.
    pub answers_file: Option<String>,
    /// Where the answers come from until the run is resumed. Older records do not have it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Origin>,
    /// Fingerprint of the procedure's text. The book stores the text itself.
    pub procedure: Fingerprint,
    /// The procedure's id.
    pub procedure_id: String,
    /// The procedure's version.
    pub procedure_version: String,
    /// Fingerprint of the shop file's text.
    pub shop: Fingerprint,
    /// The machine's id in the shop file.
    pub machine: String,
    /// The operator's initials.
    pub operator: String,
    /// The unit system in which values are typed.
    pub unit: UnitSystem,
    /// The version of this program.
    pub tool: String,
}

impl RunStart {
    /// Where the answers come from at first. Older records have no origin; there an answers file, if named, decides.
    pub(crate) fn origin(&self) -> Origin {
        match (self.from, &self.answers_file) {
            (Some(from), _) => from,
            (None, Some(_)) => Origin::AnswersFile,
            (None, None) => Origin::Terminal,
        }
    }
}

/// The figures of a plate's account at the beginning of a run. They replace the figures in the shop file.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PlateKnown {
    /// The plate's id in the shop file.
    pub plate: String,
    /// Its thickness at its thinnest.
    pub thickness: Length,
    /// Depth of its shallowest steel.
    pub steel_depth: Length,
    /// The number of the last account entry that these figures include.
    pub entry: u32,
}

/// The result of an inspection, compared with what was expected of the plane that was cut.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct InspectionResult {
    /// The inspection step and its pass.
    pub at: Instance,
    /// The height of the plane that was cut.
    pub plane: Length,
    /// Points near which old skin was left. Empty where all was clean, or where no point was named.
    pub skin: Vec<String>,
    /// Whether the whole surface was clean.
    pub clean: bool,
    /// Points near which skin was expected to remain.
    pub stays: Vec<String>,
    /// Points near which the touches did not decide whether skin remains.
    pub unsure: Vec<String>,
    /// How far below the plane the skin is estimated to reach; `None` where there is no estimate.
    pub depth: Option<Length>,
    /// The plane that would clear the skin by that estimate.
    pub next: Option<Length>,
    /// The initials of the person who inspected.
    pub by: String,
}

/// How a run ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Every step was answered.
    Complete,
    /// Ended before all steps were answered.
    Abandoned,
}

/// One event of a run.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// The run began.
    Began(RunStart),
    /// A step was answered.
    Answered {
        /// The step and its pass.
        at: Instance,
        /// The answer.
        answer: Answer,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
        /// Where it was seen, for an answer of an earlier run that stands; `by` took it over.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seen: Option<SeenEarlier>,
    },
    /// Active codes were typed, and some groups are still to be said.
    CodesTyped {
        /// The codes step and its pass.
        at: Instance,
        /// All that is known by now.
        so_far: CodesRead,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// An answer was typed and refused.
    Refused {
        /// The step and its pass.
        at: Instance,
        /// What was typed.
        typed: String,
        /// Why it was refused.
        why: String,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A value outside a soft limit was accepted.
    Accepted {
        /// The step and its pass.
        at: Instance,
        /// The limit, in words.
        limit: String,
        /// The reason that was given.
        reason: String,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A point was touched.
    Touched {
        /// The touch step and its pass.
        at: Instance,
        /// The name of the point.
        point: String,
        /// The reading.
        reading: Reading,
        /// Whether this is the repeated touch of the first point that closes the series.
        closing: bool,
        /// Its place on the plate, where one was typed: distance to the right and away from the front.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<[Length; 2]>,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The readout was zeroed at the last touched point.
    Zeroed {
        /// The touch step and its pass.
        at: Instance,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The last reading was removed because it was mistyped.
    TouchTakenBack {
        /// The touch step and its pass.
        at: Instance,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A series of touches was started again.
    TouchesRestarted {
        /// The touch step and its pass.
        at: Instance,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A timer began that runs while other questions go on. It began at the time of this entry.
    TimerBegan {
        /// The wait step and its pass.
        at: Instance,
        /// Where it came from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// Answers became invalid.
    Voided {
        /// The steps whose answers became invalid, each with its pass.
        steps: Vec<Instance>,
        /// The cause, in words.
        because: String,
    },
    /// Cycle start was released.
    Released {
        /// The cut that was released.
        at: Instance,
        /// The time at which the release lapses.
        until: Moment,
        /// The initials of the operator it is for.
        to: String,
        /// The digest of the state in which it was released.
        digest: Fingerprint,
    },
    /// Cycle start was pressed. This uses up the release.
    CutStarted {
        /// The cut step and its pass.
        at: Instance,
        /// The height at which the tip travels.
        plane: Length,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A cut is assumed, so that a run whose answers come from a file can continue: nothing was released and nobody
    /// pressed cycle start.
    CutAssumed {
        /// The cut step and its pass.
        at: Instance,
        /// The height at which the tip would travel.
        plane: Length,
        /// The initials that the file gives.
        by: String,
    },
    /// Cycle start of the practice mill was released. This is never a real release: nothing that releases a real
    /// machine reads this event.
    PracticeReleased {
        /// The cut that was released.
        at: Instance,
        /// The time at which the release lapses.
        until: Moment,
        /// The initials of the operator it is for.
        to: String,
        /// The digest of the state in which it was released.
        digest: Fingerprint,
    },
    /// Cycle start of the practice mill was pressed.
    PracticeStarted {
        /// The cut step and its pass.
        at: Instance,
        /// The height at which the tip travels.
        plane: Length,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The cut ended.
    CutEnded {
        /// The cut step and its pass.
        at: Instance,
        /// How it ended.
        how: CutEnd,
        /// Why it was stopped, if it was.
        #[serde(default, skip_serializing_if = "Cause::is_not_asked")]
        cause: Cause,
        /// What the operator added to the cause.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        said: String,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The run was handed over to another operator.
    HandedOver {
        /// The initials of the previous operator.
        from: String,
        /// The initials of the new operator.
        to: String,
        /// Where the request came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        origin: Option<Origin>,
    },
    /// The run was left so that it can be resumed.
    Paused {
        /// How it was left, in words.
        how: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The run was resumed.
    Resumed {
        /// The initials of the person who did this.
        by: String,
        /// Whether the run had stopped without a [`Event::Paused`] entry (a crash, a power cut).
        after_crash: bool,
        /// Where the answers come from until the run is resumed again. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
        /// Whether the machine stayed as it was in the meantime. `None` where the run had nothing to lose, and before
        /// version 5.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept: Option<MachineContinuity>,
    },
    /// An owner took the run over from a terminal that had it.
    TakenOver {
        /// The initials of the previous operator.
        from: String,
        /// The initials of the owner.
        by: String,
        /// The owner's signature over [`super::state::State::text_to_take_over`].
        proof: Proof,
        /// The digest of the list of people at that time. It is part of the signed text. Records before version 5 have
        /// none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        list: Option<Fingerprint>,
        /// As in [`Event::Resumed`].
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept: Option<MachineContinuity>,
    },
    /// The stop word was typed.
    Stopped {
        /// The initials of the person who did this.
        by: String,
        /// The cause. Before version 5 this field said whether the emergency stop was pressed.
        #[serde(default, alias = "emergency", deserialize_with = "cause")]
        cause: Cause,
        /// What the operator typed.
        reason: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The cause of a stop, recorded after the stop itself.
    StopExplained {
        /// The cause.
        cause: Cause,
        /// What the operator added to the cause.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        said: String,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The plate or the person is in other open runs too, and why this run continues.
    AlsoInUse(AlsoInUse),
    /// The machine must not be used, because of a state that was seen in this run or in an earlier one.
    OutOfService(OutOfService),
    /// The machine was put back in service.
    BackInService {
        /// Why it may be used again.
        reason: String,
        /// The initials of the person who did this.
        by: String,
        /// Their signature over [`super::state::State::text_to_put_back`], where people are registered.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        proof: Option<Proof>,
        /// The digest of the list of people at that time, where there is a signature. It is part of the signed text.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        list: Option<Fingerprint>,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The program file is not the one that was examined.
    ProgramChanged {
        /// The step that examined it.
        at: Instance,
        /// The fingerprint of the file as it is now; `None` when it cannot be read.
        found: Option<Fingerprint>,
    },
    /// The plate's account in the book replaces the shop file's figures: it includes what earlier cuts took off.
    PlateKnown(PlateKnown),
    /// The result of an inspection.
    Looked(InspectionResult),
    /// A note was written.
    Noted {
        /// The initials of the person who did this.
        by: String,
        /// The text of the note.
        text: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The run ended.
    Ended {
        /// How it ended.
        outcome: Outcome,
        /// The initials of the person who did this.
        by: String,
        /// Where it came from. Older records do not have it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
}

impl Event {
    /// Where the content of the event came from. `None` for an event that only follows from others, and for older
    /// records that do not have it.
    pub fn origin(&self) -> Option<Origin> {
        match self {
            Self::Began(begun) => Some(begun.origin()),
            Self::Answered { from, .. }
            | Self::Refused { from, .. }
            | Self::Accepted { from, .. }
            | Self::CodesTyped { from, .. }
            | Self::Touched { from, .. }
            | Self::Zeroed { from, .. }
            | Self::TouchTakenBack { from, .. }
            | Self::TouchesRestarted { from, .. }
            | Self::TimerBegan { from, .. }
            | Self::CutStarted { from, .. }
            | Self::PracticeStarted { from, .. }
            | Self::CutEnded { from, .. }
            | Self::HandedOver { origin: from, .. }
            | Self::Paused { from, .. }
            | Self::Resumed { from, .. }
            | Self::Stopped { from, .. }
            | Self::StopExplained { from, .. }
            | Self::AlsoInUse(AlsoInUse { from, .. })
            | Self::OutOfService(OutOfService { from, .. })
            | Self::BackInService { from, .. }
            | Self::Noted { from, .. }
            | Self::Ended { from, .. } => *from,
            // Taking over needs a person's signature.
            Self::TakenOver { .. } => Some(Origin::Terminal),
            // A terminal never assumes a cut.
            Self::CutAssumed { .. } => Some(Origin::AnswersFile),
            Self::Voided { .. }
            | Self::Released { .. }
            | Self::PracticeReleased { .. }
            | Self::ProgramChanged { .. }
            | Self::PlateKnown(_)
            | Self::Looked(_) => None,
        }
    }

    /// Whether the event shows that an answer of its run came from a file.
    pub(crate) fn is_from_file(&self) -> bool {
        match self {
            Self::Began(begun) if begun.answers_file.is_some() => true,
            // Before version 5, when a run was continued from a file, only its sign-off shows it.
            Self::Answered {
                answer:
                    Answer::Signed {
                        means: SigningMethod::AnswersFile,
                        ..
                    },
                ..
            } => true,
            _ => self.origin() == Some(Origin::AnswersFile),
        }
    }

    /// Whether the machine was stopped with a cause other than planned, or put out of service. A cause that nobody has said
    /// yet counts once it is said.
    pub(crate) fn stops_unplanned(&self) -> bool {
        match self {
            Self::Stopped { cause, .. } | Self::StopExplained { cause, .. } => {
                !matches!(cause, Cause::Planned | Cause::NotSaid)
            }
            Self::CutEnded { how, cause, .. } => {
                *how != CutEnd::Finished && !matches!(cause, Cause::Planned | Cause::NotSaid)
            }
            Self::OutOfService(_) => true,
            _ => false,
        }
    }

    /// The word that is stored next to the event's body.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Began(_) => "began",
            Self::Answered { .. } => "answered",
            Self::Refused { .. } => "refused",
            Self::Accepted { .. } => "accepted",
            Self::CodesTyped { .. } => "codes_typed",
            Self::Touched { .. } => "touched",
            Self::Zeroed { .. } => "zeroed",
            Self::TouchTakenBack { .. } => "touch_taken_back",
            Self::TouchesRestarted { .. } => "touches_restarted",
            Self::TimerBegan { .. } => "timer_began",
            Self::Voided { .. } => "voided",
            Self::Released { .. } => "released",
            Self::CutStarted { .. } => "cut_started",
            Self::CutAssumed { .. } => "cut_assumed",
            Self::PracticeReleased { .. } => "practice_released",
            Self::PracticeStarted { .. } => "practice_started",
            Self::CutEnded { .. } => "cut_ended",
            Self::HandedOver { .. } => "handed_over",
            Self::Paused { .. } => "paused",
            Self::Resumed { .. } => "resumed",
            Self::TakenOver { .. } => "taken_over",
            Self::Stopped { .. } => "stopped",
            Self::StopExplained { .. } => "stop_explained",
            Self::AlsoInUse(_) => "also_in_use",
            Self::OutOfService(_) => "out_of_service",
            Self::BackInService { .. } => "back_in_service",
            Self::ProgramChanged { .. } => "program_changed",
            Self::PlateKnown(_) => "plate_known",
            Self::Looked(_) => "looked",
            Self::Noted { .. } => "noted",
            Self::Ended { .. } => "ended",
        }
    }
}
