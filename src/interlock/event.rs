//! What happened in a run, in the words it is stored in. Only ever added to: a stored event must always load.

use super::answer::{Answer, Origin, Proof, SigningMethod};
use super::elsewhere::AlsoInUse;
use super::instance::Instance;
use super::service::OutOfService;
use super::stopping::{Cause, CutEnd, MachineContinuity, cause};
use crate::fingerprint::Fingerprint;
use crate::plate::Reading;
use crate::quantity::moment::Moment;
use crate::quantity::{Length, UnitSystem};
use serde::{Deserialize, Serialize};

/// The version written beside each stored event. Version 5 says where an answer came from and why a cut or a run was
/// stopped; a book of version 4 is kept as `tests/books/events-4.sqlite3` and must always load.
pub const VERSION: u32 = 5;

/// An event and when it happened.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TimedEvent {
    /// When.
    pub at: Moment,
    /// What.
    pub event: Event,
}

/// What a run begins with.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct RunStart {
    /// The run's id.
    pub run: String,
    /// Whether this is practice. A rehearsal can never release a real machine.
    pub rehearsal: bool,
    /// The file the answers are read from, where nobody is asked.
    pub answers_file: Option<String>,
    /// Where the answers come from until the run is taken up again; older records do not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Origin>,
    /// Fingerprint of the procedure's text; the book keeps the text itself.
    pub procedure: Fingerprint,
    /// The procedure's id and version, for lists.
    pub procedure_id: String,
    /// The procedure's version.
    pub procedure_version: String,
    /// Fingerprint of the shop file's text.
    pub shop: Fingerprint,
    /// The machine's id in the shop file.
    pub machine: String,
    /// The operator's initials.
    pub operator: String,
    /// The unit system typed in.
    pub unit: UnitSystem,
    /// The version of this program.
    pub tool: String,
}

impl RunStart {
    /// Where the answers come from at first. Older records say it by naming the file.
    pub fn origin(&self) -> Origin {
        match (self.from, &self.answers_file) {
            (Some(from), _) => from,
            (None, Some(_)) => Origin::AnswersFile,
            (None, None) => Origin::Terminal,
        }
    }
}

/// What a plate's account says at the beginning of a run, in the place of the shop file's figures.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PlateKnown {
    /// The plate's id in the shop file.
    pub plate: String,
    /// Its thickness at its thinnest.
    pub thickness: Length,
    /// Depth of its shallowest steel.
    pub steel_depth: Length,
    /// The last entry of the account that this is from.
    pub entry: u32,
}

/// What an inspection found, beside what was expected when the plane was cut.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct InspectionResult {
    /// Which inspection.
    pub at: Instance,
    /// The plane that was cut.
    pub plane: Length,
    /// Points near which old skin was left; empty where all was clean, or where none was named.
    pub skin: Vec<String>,
    /// Whether all was clean.
    pub clean: bool,
    /// Points near which skin was expected to stay.
    pub stays: Vec<String>,
    /// Points near which it was not known.
    pub unsure: Vec<String>,
    /// How far below the plane the skin is reckoned to reach, where that can be told.
    pub depth: Option<Length>,
    /// The plane that would clear it by that reckoning.
    pub next: Option<Length>,
    /// By whom.
    pub by: String,
}

/// How a run ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Every step was answered.
    Complete,
    /// Given up before its end.
    Abandoned,
}

/// What happened.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// The run began.
    Began(RunStart),
    /// A step was answered.
    Answered {
        /// Which.
        at: Instance,
        /// What.
        answer: Answer,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// An answer was typed and not taken.
    Refused {
        /// At which step.
        at: Instance,
        /// What was typed.
        typed: String,
        /// Why it was not taken.
        why: String,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A value outside a soft limit was accepted.
    Accepted {
        /// At which step.
        at: Instance,
        /// The limit, in words.
        limit: String,
        /// The reason given.
        reason: String,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A point was touched.
    Touched {
        /// In which step.
        at: Instance,
        /// The point.
        point: String,
        /// What was read.
        reading: Reading,
        /// Whether it closes the series.
        closing: bool,
        /// Where it lies on the plate, to the right and away from the front, where that was typed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<[Length; 2]>,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The readout was zeroed at the point touched last.
    Zeroed {
        /// In which step.
        at: Instance,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The last reading was taken back as mistyped.
    TouchTakenBack {
        /// In which step.
        at: Instance,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A series of touches was begun anew.
    TouchesRestarted {
        /// In which step.
        at: Instance,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// Answers no longer hold.
    Voided {
        /// Which.
        steps: Vec<Instance>,
        /// Because of what.
        because: String,
    },
    /// Cycle start was released.
    Released {
        /// For which cut.
        at: Instance,
        /// Until when.
        until: Moment,
        /// To whom.
        to: String,
        /// The digest of the state it was released on.
        digest: Fingerprint,
    },
    /// Cycle start was pressed; the release is spent.
    CutStarted {
        /// Which cut.
        at: Instance,
        /// The height at which the tip travels.
        plane: Length,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// A cut is assumed, so that a run whose answers come from a file can go on: nothing was released, nobody pressed cycle
    /// start.
    CutAssumed {
        /// Which cut.
        at: Instance,
        /// The height at which the tip would travel.
        plane: Length,
        /// Whose initials the file gives.
        by: String,
    },
    /// Cycle start of the practice mill was released. Never a real release: it is another event, read by nothing that
    /// clears a machine.
    PracticeReleased {
        /// For which cut.
        at: Instance,
        /// Until when.
        until: Moment,
        /// To whom.
        to: String,
        /// The digest of the state it was released on.
        digest: Fingerprint,
    },
    /// Cycle start of the practice mill was pressed.
    PracticeStarted {
        /// Which cut.
        at: Instance,
        /// The height at which the tip travels.
        plane: Length,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The cut ended.
    CutEnded {
        /// Which cut.
        at: Instance,
        /// How.
        how: CutEnd,
        /// Why it was stopped, where it was.
        #[serde(default, skip_serializing_if = "Cause::is_not_asked")]
        cause: Cause,
        /// What was said beside.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        said: String,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The run changed hands.
    HandedOver {
        /// From whom.
        from: String,
        /// To whom.
        to: String,
        /// Where the word for it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        origin: Option<Origin>,
    },
    /// The run was left, to be resumed.
    Paused {
        /// How.
        how: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The run was taken up again.
    Resumed {
        /// By whom.
        by: String,
        /// Whether it had been left without a word (a crash, a power cut).
        after_crash: bool,
        /// Where the answers come from until the next time; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
        /// Whether the machine stayed as it was meanwhile; none where nothing could be lost, and before version 5.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept: Option<MachineContinuity>,
    },
    /// An owner took the run over from a terminal that had it.
    TakenOver {
        /// Who had the run.
        from: String,
        /// The owner.
        by: String,
        /// Their signature over [`super::state::State::text_to_take_over`].
        proof: Proof,
        /// The digest of the list of people as it stood; part of what is signed. Records before version 5 have none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        list: Option<Fingerprint>,
        /// As for a run taken up again.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept: Option<MachineContinuity>,
    },
    /// The stop word was given.
    Stopped {
        /// By whom.
        by: String,
        /// Why. Before version 5 it was whether the emergency stop was pressed.
        #[serde(default, alias = "emergency", deserialize_with = "cause")]
        cause: Cause,
        /// What was said.
        reason: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// Why it was stopped, said after the stop was recorded.
    StopExplained {
        /// Why.
        cause: Cause,
        /// What was said beside.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        said: String,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The plate or the person is in other open runs too, and why this one goes on.
    AlsoInUse(AlsoInUse),
    /// The machine must not be used: a state was seen that means so, in this run or in an earlier one.
    OutOfService(OutOfService),
    /// The machine was put back in service.
    BackInService {
        /// Why it may be used again.
        reason: String,
        /// By whom.
        by: String,
        /// Their signature over [`super::state::State::text_to_put_back`], where people are registered.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        proof: Option<Proof>,
        /// The digest of the list of people as it stood, where it is signed; part of what is signed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        list: Option<Fingerprint>,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The program file is not the one examined.
    ProgramChanged {
        /// The step that examined it.
        at: Instance,
        /// What the file is now; none when it cannot be read.
        found: Option<Fingerprint>,
    },
    /// The plate's account in the book says more than the shop file: what its earlier cuts left.
    PlateKnown(PlateKnown),
    /// What an inspection found, and where.
    Looked(InspectionResult),
    /// A note was made.
    Noted {
        /// By whom.
        by: String,
        /// What.
        text: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
    /// The run ended.
    Ended {
        /// How.
        outcome: Outcome,
        /// By whom.
        by: String,
        /// Where it came from; older records do not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<Origin>,
    },
}

impl Event {
    /// Where what it says came from. `None` for an entry that follows from others and holds nothing that was said, and for older
    /// records, which do not say it of all.
    pub fn origin(&self) -> Option<Origin> {
        match self {
            Self::Began(begun) => Some(begun.origin()),
            Self::Answered { from, .. }
            | Self::Refused { from, .. }
            | Self::Accepted { from, .. }
            | Self::Touched { from, .. }
            | Self::Zeroed { from, .. }
            | Self::TouchTakenBack { from, .. }
            | Self::TouchesRestarted { from, .. }
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
            // A person signs for that.
            Self::TakenOver { .. } => Some(Origin::Terminal),
            // Nobody is asked at a terminal to assume a cut.
            Self::CutAssumed { .. } => Some(Origin::AnswersFile),
            Self::Voided { .. }
            | Self::Released { .. }
            | Self::PracticeReleased { .. }
            | Self::ProgramChanged { .. }
            | Self::PlateKnown(_)
            | Self::Looked(_) => None,
        }
    }

    /// Whether it says that an answer of its run came from a file.
    pub fn is_from_file(&self) -> bool {
        match self {
            Self::Began(begun) if begun.answers_file.is_some() => true,
            // Before version 5 only the sign-off of a run continued from a file says so.
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

    /// The word an event is stored under, beside its body.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Began(_) => "began",
            Self::Answered { .. } => "answered",
            Self::Refused { .. } => "refused",
            Self::Accepted { .. } => "accepted",
            Self::Touched { .. } => "touched",
            Self::Zeroed { .. } => "zeroed",
            Self::TouchTakenBack { .. } => "touch_taken_back",
            Self::TouchesRestarted { .. } => "touches_restarted",
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
