//! The commands of a run: what a person, or the program on their behalf, asks the interlock to do.

use super::answer::{Origin, SigningMethod};
use super::elsewhere::{Elsewhere, OpenRun};
use super::event::{Outcome, PlateKnown};
use super::examined::Examined;
use super::instance::Instance;
use super::service::OutOfService;
use super::standing::EarlierAnswer;
use super::stopping::{Cause, CutEnd, MachineContinuity};
use crate::fingerprint::Fingerprint;
use crate::people::People;
use crate::plate::Reading;
use crate::quantity::{Length, Quantity};
use std::sync::Arc;

/// The fingerprint of the program file as it is now; `None` when it cannot be read.
pub type ProgramSeen = Option<Fingerprint>;

/// What signing needs in addition to the state.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Signing {
    /// The list of people as it is now. An empty list means that the shop signs with typed initials.
    pub people: Arc<People>,
    /// The operator's signature, where people are registered.
    pub first: Option<String>,
    /// The second signer's initials and signature.
    pub second: Option<(String, String)>,
}

/// What was typed as the answer to a question.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum GivenAnswer {
    /// The word for a state, a choice or the result of an inspection.
    Word(String),
    /// A plate, with the other open runs that use it and for which no reason is recorded yet.
    Plate {
        /// The plate's id in the shop file.
        id: String,
        /// The other open runs.
        others: Vec<OpenRun>,
    },
    /// An inspection that found old skin near these points. Empty where nobody can say where.
    SkinLeft {
        /// Names of touched points.
        near: Vec<String>,
    },
    /// Free text.
    Text(String),
    /// A number that was read, or read back (for an enter step).
    Quantity(Quantity),
    /// A line of active codes, as it was typed.
    Codes(String),
    /// A program file.
    File {
        /// The path as typed.
        path: String,
        /// Fingerprint of its bytes.
        fingerprint: Fingerprint,
        /// Its size.
        bytes: u64,
        /// The result of its examination, where it was examined.
        examined: Option<Box<Examined>>,
    },
}

/// A command to a run.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Command {
    /// Answers a question.
    Answer {
        /// The step and its pass.
        at: Instance,
        /// The answer.
        said: GivenAnswer,
        /// The reason to accept a value outside a soft limit; `None` until one is given.
        accept: Option<String>,
    },
    /// Takes the answer of a step from the examination of the program, which vouches for it.
    TakeFromProgram {
        /// The step and its pass.
        at: Instance,
        /// As in [`Command::Answer`].
        accept: Option<String>,
    },
    /// Computes a value and records it.
    WorkOut {
        /// The step and its pass.
        at: Instance,
        /// As in [`Command::Answer`].
        accept: Option<String>,
    },
    /// Uses the answer of an earlier run again.
    Stand {
        /// The step.
        at: Instance,
        /// What the book says of it; `None` where no earlier run answered it.
        earlier: Option<Box<EarlierAnswer>>,
    },
    /// Touches a point.
    Touch {
        /// The touch step.
        at: Instance,
        /// The name of the point.
        point: String,
        /// The reading.
        reading: Reading,
        /// Whether this is the repeated touch of the first point that closes the series.
        closing: bool,
        /// Its place on the plate, where one was typed: distance to the right and away from the front.
        place: Option<[Length; 2]>,
        /// As in [`Command::Answer`].
        accept: Option<String>,
    },
    /// Records that the readout was zeroed at the last touched point, with the value it shows now.
    Zeroed {
        /// The touch step.
        at: Instance,
        /// The value that the readout shows now.
        shows: Quantity,
    },
    /// Removes the last reading.
    TakeBack {
        /// The touch step.
        at: Instance,
    },
    /// Starts the timer of a wait step that runs in the background.
    BeginTimer {
        /// The wait step and its pass.
        at: Instance,
    },
    /// Answers a wait step whose timer has run its time.
    FinishTimer {
        /// The wait step and its pass.
        at: Instance,
    },
    /// Starts a series of touches again from its first point.
    RestartTouches {
        /// The touch step.
        at: Instance,
    },
    /// Ends a series that is complete, or whose points the operator chooses.
    FinishTouches {
        /// The touch step.
        at: Instance,
    },
    /// Signs a hold point.
    Sign {
        /// The hold point.
        at: Instance,
        /// The initials typed.
        initials: String,
        /// How the sign-off was given.
        means: SigningMethod,
        /// The list of people as it is now, and the signatures where keys are used.
        with: Signing,
    },
    /// Asks for the release of cycle start.
    Release {
        /// The program file as it is now.
        program: ProgramSeen,
        /// The list of people as it is now.
        people: Arc<People>,
    },
    /// Records that cycle start was pressed.
    Start {
        /// The program file as it is now.
        program: ProgramSeen,
        /// The list of people as it is now.
        people: Arc<People>,
    },
    /// Assumes that the next cut was made, in a run whose answers come from a file.
    AssumeCut {
        /// The program file as it is now.
        program: ProgramSeen,
        /// The list of people as it is now.
        people: Arc<People>,
    },
    /// Asks for the release of the practice mill's cycle start.
    PracticeRelease {
        /// The program file as it is now.
        program: ProgramSeen,
    },
    /// Records that the practice mill's cycle start was pressed.
    PracticeStart {
        /// The program file as it is now.
        program: ProgramSeen,
    },
    /// Records how the cut under way ended.
    EndCut {
        /// How it ended.
        how: CutEnd,
        /// Why it was stopped; [`Cause::NotSaid`] if the question for the cause comes next.
        cause: Cause,
        /// What the operator added to the cause.
        said: String,
    },
    /// Checks whether the program file is still the one that was examined.
    LookAtProgram {
        /// The program file as it is now.
        program: ProgramSeen,
    },
    /// Checks whether every sign-off is still valid with the list of people as it is now.
    LookAtPeople {
        /// The list of people as it is now.
        people: Arc<People>,
    },
    /// Hands the run over to another operator.
    HandOver {
        /// The new operator's initials.
        to: String,
        /// The other open runs of that person.
        elsewhere: Elsewhere,
    },
    /// Records at the start of a run that its operator has other open runs.
    BeginBeside {
        /// Those runs, with the reason.
        elsewhere: Elsewhere,
    },
    /// Ends a release that was given at a terminal that no longer exists. The terminal that has just claimed the run
    /// sends this.
    FindReleased,
    /// Resumes a run.
    Resume {
        /// The operator's initials.
        by: String,
        /// Where the answers come from, from now on.
        from: Origin,
        /// Whether the machine stayed as it was in the meantime. Required where the run has something to lose.
        kept: Option<MachineContinuity>,
        /// The other open runs of that person.
        elsewhere: Elsewhere,
    },
    /// Takes the run over from another terminal that has it.
    TakeOver {
        /// The initials of the owner who takes it over.
        by: String,
        /// The owner's signature.
        signature: String,
        /// The list of people as it is now.
        people: Arc<People>,
        /// As in [`Command::Resume`].
        kept: Option<MachineContinuity>,
        /// As in [`Command::Resume`].
        elsewhere: Elsewhere,
    },
    /// Leaves the run so that it can be resumed.
    Pause {
        /// How it was left, in words.
        how: String,
    },
    /// Stops the machine at once: the stop word was typed.
    Stop {
        /// Why it was stopped; [`Cause::NotSaid`] if the question for the cause comes next.
        cause: Cause,
        /// What the operator typed.
        reason: String,
    },
    /// Records why the machine was stopped, after the stop itself was recorded.
    ExplainStop {
        /// The cause.
        cause: Cause,
        /// What the operator added to the cause.
        said: String,
    },
    /// Adopts from the machine's record that the machine is out of service.
    KnowOutOfService(OutOfService),
    /// Puts the machine back in service.
    PutBack {
        /// Why it may be used again.
        reason: String,
        /// The initials of the person who puts it back.
        by: String,
        /// Their signature, where people are registered.
        signature: Option<String>,
        /// The list of people as it is now.
        people: Arc<People>,
    },
    /// Adopts the figures of the plate's account.
    KnowPlate(PlateKnown),
    /// Records a note.
    Note {
        /// The text.
        text: String,
    },
    /// Ends the run.
    End {
        /// How it ended.
        outcome: Outcome,
    },
}

impl Command {
    /// The list of people in the command, for the commands that have one.
    pub fn people(&self) -> Option<&People> {
        match self {
            Self::Sign { with, .. } => Some(&with.people),
            Self::Release { people, .. }
            | Self::Start { people, .. }
            | Self::AssumeCut { people, .. }
            | Self::TakeOver { people, .. }
            | Self::PutBack { people, .. }
            | Self::LookAtPeople { people } => Some(people),
            _ => None,
        }
    }

    /// Replaces the program file in the command, for the commands that have one.
    pub(crate) fn set_program(&mut self, now: ProgramSeen) {
        match self {
            Self::Release { program, .. }
            | Self::Start { program, .. }
            | Self::AssumeCut { program, .. }
            | Self::PracticeRelease { program }
            | Self::PracticeStart { program }
            | Self::LookAtProgram { program } => *program = now,
            _ => {}
        }
    }

    /// Replaces the list of people in the command, for the commands that have one.
    pub fn set_people(&mut self, now: Arc<People>) {
        match self {
            Self::Sign { with, .. } => with.people = now,
            Self::Release { people, .. }
            | Self::Start { people, .. }
            | Self::AssumeCut { people, .. }
            | Self::TakeOver { people, .. }
            | Self::PutBack { people, .. }
            | Self::LookAtPeople { people } => *people = now,
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::answer::SigningMethod;
    use super::super::crew::{hold_point, without};
    use super::super::testing::at;
    use super::{Command, Signing};
    use crate::fingerprint::Fingerprint;
    use crate::people::People;
    use std::sync::Arc;

    /// Each command that carries the program file uses the one that was set last.
    #[test]
    fn a_command_uses_the_program_file_that_was_set_last() {
        let now = Some(Fingerprint::of("another"));
        let (program, people) = (None, Arc::default());
        let all = [
            Command::Release {
                program,
                people: Arc::clone(&people),
            },
            Command::Start {
                program,
                people: Arc::clone(&people),
            },
            Command::AssumeCut { program, people },
            Command::PracticeRelease { program },
            Command::PracticeStart { program },
            Command::LookAtProgram { program },
        ];
        for mut command in all {
            command.set_program(now);
            let shown = format!("{command:?}");
            assert!(shown.contains(&format!("{now:?}")), "{shown}");
        }
    }

    /// Each command that carries the list of people uses the one that was set last.
    #[test]
    fn a_command_uses_the_people_who_were_set_last() {
        let now = Arc::new(without("JT"));
        let sign = Command::Sign {
            at: hold_point(),
            initials: "JT".into(),
            means: SigningMethod::Key,
            with: Signing::default(),
        };
        let people = Arc::default();
        for mut command in [
            sign,
            Command::Release {
                program: None,
                people: Arc::clone(&people),
            },
            Command::Start {
                program: None,
                people: Arc::clone(&people),
            },
            Command::LookAtPeople { people },
        ] {
            assert_eq!(command.people(), Some(&People::default()), "{command:?}");
            command.set_people(Arc::clone(&now));
            assert_eq!(command.people(), Some(&*now), "{command:?}");
        }
        let mut other = Command::TakeBack { at: at("corners") };
        other.set_people(now);
        assert_eq!(other.people(), None);
    }
}
