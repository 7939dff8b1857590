//! What a person, or the shell on their behalf, asks of a run.

use super::answer::{Origin, SigningMethod};
use super::elsewhere::{Elsewhere, OpenRun};
use super::event::{Outcome, PlateKnown};
use super::examined::Examined;
use super::instance::Instance;
use super::service::OutOfService;
use super::stopping::{Cause, CutEnd, MachineContinuity};
use crate::fingerprint::Fingerprint;
use crate::people::People;
use crate::plate::Reading;
use crate::quantity::{Length, Quantity};
use std::sync::Arc;

/// The program file as it was seen just now: its fingerprint, or nothing when it cannot be read.
pub type ProgramSeen = Option<Fingerprint>;

/// What signing needs to know beside the state.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Signing {
    /// The people as they are now; an empty list is a shop with typed initials.
    pub people: Arc<People>,
    /// The operator's signature, where people are registered.
    pub first: Option<String>,
    /// Who signs beside, and their signature.
    pub second: Option<(String, String)>,
}

/// What was said in answer to a question.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum GivenAnswer {
    /// A state, a choice, an inspection.
    Word(String),
    /// A plate, and the other open runs that use it and that nobody gave a reason for yet.
    Plate {
        /// Its id in the shop file.
        id: String,
        /// The other runs.
        others: Vec<OpenRun>,
    },
    /// An inspection that found old skin, near these points; none where nobody can say.
    SkinLeft {
        /// Names of touched points.
        near: Vec<String>,
    },
    /// A free text.
    Text(String),
    /// A number, read or (for an enter step) read back.
    Quantity(Quantity),
    /// A program file.
    File {
        /// Its path as given.
        path: String,
        /// Fingerprint of its bytes.
        fingerprint: Fingerprint,
        /// Its size.
        bytes: u64,
        /// What its examination came to, where it was examined.
        examined: Option<Box<Examined>>,
    },
}

/// A command.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Command {
    /// Answers a question.
    Answer {
        /// Which.
        at: Instance,
        /// What was said.
        said: GivenAnswer,
        /// The reason with which a broken soft limit is accepted, once given.
        accept: Option<String>,
    },
    /// Works a value out and records it.
    WorkOut {
        /// Which.
        at: Instance,
        /// As for an answer.
        accept: Option<String>,
    },
    /// Touches a point.
    Touch {
        /// In which step.
        at: Instance,
        /// The point.
        point: String,
        /// What was read.
        reading: Reading,
        /// Whether it closes the series.
        closing: bool,
        /// Where it lies on the plate, where that was typed.
        place: Option<[Length; 2]>,
        /// As for an answer.
        accept: Option<String>,
    },
    /// Says that the readout was zeroed at the point touched last, and what it shows.
    Zeroed {
        /// In which step.
        at: Instance,
        /// What it shows now.
        shows: Quantity,
    },
    /// Takes back the last reading.
    TakeBack {
        /// In which step.
        at: Instance,
    },
    /// Begins a series of touches anew.
    RestartTouches {
        /// In which step.
        at: Instance,
    },
    /// Ends a series whose points the operator names, or one that is whole.
    FinishTouches {
        /// In which step.
        at: Instance,
    },
    /// Signs.
    Sign {
        /// Which hold point.
        at: Instance,
        /// The initials typed.
        initials: String,
        /// How they were given.
        means: SigningMethod,
        /// The people as they are now, and the signatures where keys sign.
        with: Signing,
    },
    /// Asks for the release of cycle start.
    Release {
        /// The program file as seen just now.
        program: ProgramSeen,
        /// The people as they are now.
        people: Arc<People>,
    },
    /// Says that cycle start was pressed.
    Start {
        /// The program file as seen just now.
        program: ProgramSeen,
        /// The people as they are now.
        people: Arc<People>,
    },
    /// Assumes the next cut, where answers come from a file.
    AssumeCut {
        /// The program file as seen just now.
        program: ProgramSeen,
        /// The people as they are now.
        people: Arc<People>,
    },
    /// Asks for the release of the practice mill's cycle start.
    PracticeRelease {
        /// The program file as seen just now.
        program: ProgramSeen,
    },
    /// Says that the practice mill's cycle start was pressed.
    PracticeStart {
        /// The program file as seen just now.
        program: ProgramSeen,
    },
    /// Says how the cut under way ended.
    EndCut {
        /// How.
        how: CutEnd,
        /// Why it was stopped; [`Cause::NotSaid`] where that is asked next.
        cause: Cause,
        /// What was said beside.
        said: String,
    },
    /// Looks at the program file.
    LookAtProgram {
        /// As seen just now.
        program: ProgramSeen,
    },
    /// Looks whether every sign-off still stands with the people as they are now.
    LookAtPeople {
        /// As they are now.
        people: Arc<People>,
    },
    /// Hands the run to somebody else.
    HandOver {
        /// To whom.
        to: String,
        /// Other open runs that they have.
        elsewhere: Elsewhere,
    },
    /// The operator of a run that begins has other open runs.
    BeginBeside {
        /// Those runs.
        elsewhere: Elsewhere,
    },
    /// Takes note of a release that was given at a terminal that is gone; asked by whoever has just claimed the run.
    FindReleased,
    /// Takes a run up again.
    Resume {
        /// Who.
        by: String,
        /// Where the answers come from now.
        from: Origin,
        /// Whether the machine stayed as it was meanwhile; must be said where something could be lost.
        kept: Option<MachineContinuity>,
        /// Other open runs that they have.
        elsewhere: Elsewhere,
    },
    /// Takes the run over from a terminal that has it.
    TakeOver {
        /// The owner who does.
        by: String,
        /// Their signature.
        signature: String,
        /// The people as they are now.
        people: Arc<People>,
        /// As for [`Command::Resume`].
        kept: Option<MachineContinuity>,
        /// As for [`Command::Resume`].
        elsewhere: Elsewhere,
    },
    /// Leaves the run, to be resumed.
    Pause {
        /// How it is left.
        how: String,
    },
    /// The stop word.
    Stop {
        /// Why; [`Cause::NotSaid`] where that is asked next.
        cause: Cause,
        /// What was said.
        reason: String,
    },
    /// Says why it was stopped, after the stop was recorded.
    ExplainStop {
        /// Why.
        cause: Cause,
        /// What was said beside.
        said: String,
    },
    /// Takes over that the machine is out of service, as its record says.
    KnowOutOfService(OutOfService),
    /// Puts the machine back in service.
    PutBack {
        /// Why it may be used again.
        reason: String,
        /// Who does.
        by: String,
        /// Their signature, where people are registered.
        signature: Option<String>,
        /// The people as they are now.
        people: Arc<People>,
    },
    /// Takes over what the plate's account says of the plate.
    KnowPlate(PlateKnown),
    /// A note.
    Note {
        /// What.
        text: String,
    },
    /// Ends the run.
    End {
        /// How.
        outcome: Outcome,
    },
}

impl Command {
    /// The people it was given, where they count.
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

    /// The same with the program file as it is seen now, where it counts.
    pub fn set_program(&mut self, now: ProgramSeen) {
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

    /// The same with other people.
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

    /// Each command that looks at the program file looks at the one it was given last.
    #[test]
    fn another_program_file_is_looked_at() {
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

    /// Each command that looks at the people looks at those it was given last.
    #[test]
    fn a_command_takes_the_people_as_they_are_now() {
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
