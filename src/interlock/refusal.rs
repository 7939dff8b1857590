//! Why a command is not carried out.

use super::elsewhere::{OpenRun, Shared};
use super::examined::{Examined, Judged};
use super::gate::Hold;
use super::instance::Instance;
use super::judge::BrokenLimit;
use super::service::OutOfService;
use super::signing::SignFault;
use crate::plate::TouchError;
use crate::quantity::format::QuantityFormat;
use crate::quantity::{Length, Quantity};

/// Why a command is not carried out. Nothing changes by it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Refusal {
    /// The step is not one that can be answered now.
    NotAsked(Instance),
    /// Another question stands open before it.
    OutOfOrder {
        /// The one answered.
        at: Instance,
        /// The one that is next.
        next: Instance,
    },
    /// It belongs to a pass that is cut already.
    History(Instance),
    /// The answer is of another kind than the question.
    WrongKind,
    /// The condition asked for does not stand.
    NotTheState {
        /// What was said.
        said: String,
        /// What is needed.
        needed: String,
    },
    /// Not one of the answers.
    NotAnOption {
        /// What was said.
        said: String,
        /// The answers.
        options: Vec<String>,
    },
    /// Another word is needed here.
    MustBe {
        /// What was said.
        said: String,
        /// What it must be.
        needed: String,
        /// Why.
        because: Option<String>,
    },
    /// Another machine than the run was begun on.
    OtherMachine {
        /// What was said.
        said: String,
        /// The machine of the run.
        machine: String,
    },
    /// A hard limit is broken.
    Hard(Box<BrokenLimit>),
    /// A soft limit is broken and no reason given yet.
    Soft(Box<BrokenLimit>),
    /// The control does not show what was to be entered.
    ReadBack {
        /// What was to be entered.
        wanted: Quantity,
        /// What it shows.
        shown: Quantity,
        /// Whether one is the other with its sign changed.
        sign: bool,
    },
    /// The examination of the program speaks against it.
    Program(Box<Examined>),
    /// The program says otherwise.
    NotInProgram {
        /// What was said.
        said: String,
        /// Of what.
        what: &'static str,
        /// What was read in the program.
        read: String,
    },
    /// A reading that cannot be.
    Touch(Box<TouchError>),
    /// A point already touched as often as asked, or not on the list.
    WrongPoint {
        /// The point named.
        said: String,
        /// The point due.
        due: String,
    },
    /// A place that is not on the plate.
    OffPlate {
        /// The plate's length and width.
        size: [Length; 2],
    },
    /// A point that was not touched.
    NotTouched {
        /// The point named.
        said: String,
        /// Those that were.
        known: Vec<String>,
    },
    /// The readout was not zeroed.
    NotZeroed {
        /// What it shows.
        shows: Quantity,
    },
    /// A series that is not whole.
    TouchesOpen,
    /// Shorter than asked.
    TooShort {
        /// How long it ran.
        ran: Quantity,
        /// How long it was to run.
        wanted: Quantity,
    },
    /// Signed by somebody who is not the operator.
    OtherSigner {
        /// Who signed.
        said: String,
        /// Who has the run.
        operator: String,
    },
    /// The sign-off is none.
    Unsigned(SignFault),
    /// No initials, or too many.
    NoInitials,
    /// A formula has no value.
    NoValue(String),
    /// Cycle start is held.
    Held(Vec<Hold>),
    /// A cut is under way.
    CutUnderWay,
    /// No cut is under way.
    NoCut,
    /// The machine was stopped, and nobody has said why.
    StopNotExplained,
    /// No stop waits for its cause, or what was said is no cause.
    NoStop,
    /// The plate or the person is in other open runs too, and no reason is given yet.
    AlsoInUse {
        /// What the runs have in common.
        what: Shared,
        /// The other runs.
        others: Vec<OpenRun>,
    },
    /// The machine must not be used.
    OutOfService(Box<OutOfService>),
    /// The machine is not out of service.
    InService,
    /// A run with answers from a file cannot put the machine back in service.
    PutBackFromFile,
    /// What was given as a reason is none.
    NoReason(String),
    /// It was not said whether the machine stayed as it was.
    KeptNotSaid,
    /// The run is over.
    Over,
}

impl Refusal {
    /// Why, and what to do, for people.
    pub fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::NotAsked(at) => format!("`{at}` is not asked now"),
            Self::OutOfOrder { at, next } => {
                format!("`{at}` cannot be answered before `{next}`")
            }
            Self::History(at) => {
                format!("`{at}` belongs to what is cut already; it stays as it is")
            }
            Self::WrongKind => "this is not the kind of answer asked for".to_owned(),
            Self::NotTheState { said, needed } => {
                format!("`{said}`: hold here until it is `{needed}`, then answer again")
            }
            Self::NotAnOption { said, options } => {
                format!("`{said}` is none of the answers: {}", options.join(", "))
            }
            Self::MustBe {
                said,
                needed,
                because,
            } => {
                let because = because
                    .as_ref()
                    .map_or(String::new(), |b| format!(" ({b})"));
                format!(
                    "`{said}` does not agree with `{needed}`{because}; one of the two is wrong: look again, or go back to the other"
                )
            }
            Self::OtherMachine { said, machine } => format!(
                "this run was begun on `{machine}`, and only that machine is kept for it; end it and begin another for `{said}`"
            ),
            Self::Hard(broken) => format!("{}. Nobody can waive this", broken.words(show)),
            Self::Soft(broken) => broken.words(show),
            Self::ReadBack {
                wanted,
                shown,
                sign,
            } => {
                let sign = if *sign { "; the sign is wrong" } else { "" };
                format!(
                    "the control shows {}, and {} was to be entered{sign}. Enter it again and read it back",
                    show.signed().one(*shown),
                    show.signed().both(*wanted)
                )
            }
            Self::NotInProgram { said, what, read } => format!(
                "`{said}` was said, and the {what} read in the program: {read}; one of the two is wrong: look again, or go back and give the right file"
            ),
            Self::Program(examined) => examined.against().unwrap_or_default(),
            Self::Touch(error) => error.words(show),
            Self::WrongPoint { said, due } => format!("`{said}` was said, and `{due}` is due"),
            Self::OffPlate { size: [long, wide] } => format!(
                "that place is off the plate, which is {} long and {} wide from its front left corner",
                show.one((*long).into()),
                show.one((*wide).into())
            ),
            Self::NotTouched { said, known } => format!(
                "`{said}` is no touched point; touched were: {}",
                known.join(", ")
            ),
            Self::NotZeroed { shows } => format!(
                "the readout still shows {}; zero it with the tip on the point, then type what it shows",
                show.signed().one(*shows)
            ),
            Self::TouchesOpen => "the series of touches is not whole yet; touch what is due, or go back to the question before if nothing is to be touched".to_owned(),
            Self::TooShort { ran, wanted } => {
                format!(
                    "{} is shorter than the {} asked for",
                    show.one(*ran),
                    show.one(*wanted)
                )
            }
            Self::OtherSigner { said, operator } => format!(
                "`{said}` is not the operator of this run, {operator}; hand the run over first (`handover {said}`)"
            ),
            Self::Unsigned(fault) => fault.to_string(),
            Self::NoInitials => "initials are one to eight letters or digits".to_owned(),
            Self::NoValue(why) => format!("this cannot be worked out: {why}"),
            Self::Held(holds) => {
                let holds: Vec<String> = holds.iter().map(|h| h.words(show)).collect();
                format!("cycle start is held: {}", holds.join("; "))
            }
            Self::CutUnderWay => "a cut is under way; say first how it ended".to_owned(),
            Self::NoCut => "no cut is under way".to_owned(),
            Self::StopNotExplained => "the machine was stopped; say first why".to_owned(),
            Self::NoStop => "no stop waits for its cause".to_owned(),
            Self::OutOfService(seen) => format!(
                "the machine is out of service ({}), and no answer clears that; it is put back in service first",
                seen.words()
            ),
            Self::AlsoInUse { what, others } => {
                let others: Vec<String> = others
                    .iter()
                    .map(|o| format!("{}; {} ends it", o.words(&|at| at.to_string()), o.ended_by()))
                    .collect();
                format!("{} is also in open {}", what.name(), others.join("; "))
            }
            Self::InService => "the machine is not out of service".to_owned(),
            Self::PutBackFromFile => "answers of this run came from a file, so it puts no machine back in service; `end` this run, and begin another in a terminal at the machine".to_owned(),
            Self::NoReason(said) => format!(
                "`{said}` is no reason; say in words what was put right, and by whom"
            ),
            Self::KeptNotSaid => {
                "say first whether the machine kept its power and nobody moved it".to_owned()
            }
            Self::Over => "this run is over".to_owned(),
        }
    }

    /// Whether giving a reason would let the answer pass.
    pub fn can_be_accepted(&self) -> bool {
        match self {
            Self::Soft(_) | Self::TooShort { .. } | Self::AlsoInUse { .. } => true,
            Self::Program(examined) => examined.verdict != Judged::Stop,
            _ => false,
        }
    }
}
