//! The reasons why a command is refused.

use super::codes_refusal::CodesRefusal;
use super::elsewhere::{OpenRun, Shared};
use super::examined::{Examined, Judged};
use super::gate::Hold;
use super::instance::Instance;
use super::judge::BrokenLimit;
use super::service::OutOfService;
use super::signing::SignFault;
use super::standing::NotStanding;
use crate::plate::TouchError;
use crate::quantity::format::QuantityFormat;
use crate::quantity::{Length, Quantity};

/// Why a command is refused. A refused command changes nothing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Refusal {
    /// The step is not one that can be answered now.
    NotAsked(Instance),
    /// An earlier question is still open.
    OutOfOrder {
        /// The question that was answered.
        at: Instance,
        /// The question that is next.
        next: Instance,
    },
    /// The question belongs to a pass that is cut already.
    History(Instance),
    /// The kind of answer does not match the kind of step.
    WrongKind,
    /// The condition that the step asks for is not met.
    NotTheState {
        /// What was typed.
        said: String,
    },
    /// The word is not one of the options.
    NotAnOption {
        /// What was typed.
        said: String,
        /// The options.
        options: Vec<String>,
    },
    /// The word must agree with an earlier answer and does not.
    MustBe {
        /// What was typed.
        said: String,
        /// The word that is needed.
        needed: String,
        /// Why it must agree, in the procedure's words.
        because: Option<String>,
    },
    /// The machine is not the one that the run was begun on.
    OtherMachine {
        /// What was typed.
        said: String,
        /// The machine of the run.
        machine: String,
    },
    /// A hard limit is broken.
    Hard(Box<BrokenLimit>),
    /// A soft limit is broken and no reason is given yet.
    Soft(Box<BrokenLimit>),
    /// The control does not show the value that was to be entered.
    ReadBack {
        /// The value that was to be entered.
        wanted: Quantity,
        /// The value that the control shows.
        shown: Quantity,
        /// Whether the two differ only in sign.
        sign: bool,
    },
    /// The examination of the program found reasons against it.
    Program(Box<Examined>),
    /// What was read in the program differs from what its examination read.
    NotInProgram {
        /// What was typed.
        said: String,
        /// What it was said about, in words.
        what: &'static str,
        /// What the examination read in the program.
        read: String,
    },
    /// The active codes are not accepted.
    Codes(Box<CodesRefusal>),
    /// The program does not do what the step asks for.
    AgainstProgram {
        /// The fact that is not as it should be, in words.
        what: &'static str,
        /// The code of the rule that is broken.
        code: String,
        /// The line, from 1; `None` where it is about the whole program.
        line: Option<u32>,
    },
    /// The examination of the program answers the step, so that nobody types it.
    ReadInProgram,
    /// The reading is impossible.
    Touch(Box<TouchError>),
    /// Another point is to be touched now.
    WrongPoint {
        /// The point that was named.
        said: String,
        /// The point that is due, in words.
        due: String,
    },
    /// The place is not on the plate.
    OffPlate {
        /// The plate's length and width.
        size: [Length; 2],
    },
    /// The named point was not touched.
    NotTouched {
        /// The point that was named.
        said: String,
        /// The points that were touched.
        known: Vec<String>,
    },
    /// The readout was not zeroed.
    NotZeroed {
        /// The value that the readout shows.
        shows: Quantity,
    },
    /// The series of touches is not complete.
    TouchesOpen,
    /// The wait was shorter than required.
    TooShort {
        /// The time that it ran.
        ran: Quantity,
        /// The time that it must run.
        wanted: Quantity,
    },
    /// The signer is not the operator.
    OtherSigner {
        /// The initials of the signer.
        said: String,
        /// The initials of the operator.
        operator: String,
    },
    /// The sign-off is not valid.
    Unsigned(SignFault),
    /// The initials are not one to eight letters or digits.
    NoInitials,
    /// A formula has no value, for the reason in these words.
    NoValue(String),
    /// Cycle start is held, for these reasons.
    Held(Vec<Hold>),
    /// A cut is under way.
    CutUnderWay,
    /// No cut is under way.
    NoCut,
    /// The machine was stopped, and the cause is not recorded yet.
    StopNotExplained,
    /// No stop is waiting for its cause, or the answer is no cause.
    NoStop,
    /// The plate or the person is in other open runs too, and no reason to continue is given yet.
    AlsoInUse {
        /// What the runs have in common.
        what: Shared,
        /// The other open runs.
        others: Vec<OpenRun>,
    },
    /// The machine must not be used.
    OutOfService(Box<OutOfService>),
    /// The machine is not out of service.
    InService,
    /// A run with answers from a file cannot put the machine back in service.
    PutBackFromFile,
    /// The typed text is no reason.
    NoReason(String),
    /// The answer of an earlier run does not stand.
    NotStanding(Box<NotStanding>),
    /// The answer is missing whether the machine stayed as it was.
    KeptNotSaid,
    /// The run is over.
    Over,
}

/// Words in quotes, one after the other: an answer may have a comma of its own.
pub(crate) fn quoted(words: &[impl AsRef<str>]) -> String {
    let each: Vec<String> = words.iter().map(|w| format!("`{}`", w.as_ref())).collect();
    each.join(", ")
}

impl Refusal {
    /// The reason and what to do, in words for people.
    pub fn words(&self, show: &QuantityFormat) -> String {
        match self {
            Self::NotAsked(at) => format!("`{at}` is not asked now"),
            Self::OutOfOrder { at, next } => {
                format!("`{at}` cannot be answered before `{next}`")
            }
            Self::History(at) => {
                format!("`{at}` belongs to a pass that is cut already and cannot be changed")
            }
            Self::WrongKind => "this is not the kind of answer asked for".to_owned(),
            // The answer that passes is not shown: it would be copied instead of looked for.
            Self::NotTheState { said } => {
                format!("`{said}`: hold here, put it right, and look again before you answer")
            }
            Self::NotAnOption { said, options } => {
                format!("`{said}` is none of the answers: {}", quoted(options))
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
                    "`{said}` does not agree with `{needed}`{because}; one of the two is wrong: check it again, or go back to the other"
                )
            }
            Self::OtherMachine { said, machine } => format!(
                "this run was begun on `{machine}`, and only that machine is reserved for it; end it and begin another for `{said}`"
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
                    "the control shows {}, but {} was to be entered{sign}. Enter it again and read it back",
                    show.signed().one(*shown),
                    show.signed().both(*wanted)
                )
            }
            Self::NotInProgram { said, what, read } => format!(
                "`{said}` was typed, but the {what} read in the program: {read}; one of the two is wrong: check it again, or go back and give the right file"
            ),
            Self::AgainstProgram { what, code, line } => {
                let at = line.map_or(String::new(), |line| format!(" in line {line}"));
                let title = crate::program::rules::table::rule(code).map_or(code.as_str(), |r| r.title);
                format!("the program is against it ({what}): {title}{at}. Nobody can waive this")
            }
            Self::ReadInProgram => {
                "the examination reads this in the program; go back and give another file to change it".to_owned()
            }
            Self::Program(examined) => examined.against().unwrap_or_default(),
            Self::Codes(refusal) => refusal.words(),
            Self::Touch(error) => error.words(show),
            Self::WrongPoint { said, due } => format!("`{said}` was typed, but `{due}` is due"),
            Self::OffPlate { size: [long, wide] } => format!(
                "that place is off the plate, which is {} long and {} wide from its front left corner",
                show.one((*long).into()),
                show.one((*wide).into())
            ),
            Self::NotTouched { said, known } => format!(
                "`{said}` is not a touched point; the touched points are: {}",
                known.join(", ")
            ),
            Self::NotZeroed { shows } => format!(
                "the readout still shows {}; zero it with the tip on the point, then type what it shows",
                show.signed().one(*shows)
            ),
            Self::TouchesOpen => "the series of touches is not complete yet; touch the point that is due, or go back to the question before if nothing is to be touched".to_owned(),
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
            Self::NoValue(why) => format!("this cannot be computed: {why}"),
            Self::Held(holds) => {
                let holds: Vec<String> = holds.iter().map(|h| h.words(show)).collect();
                format!("cycle start is held: {}", holds.join("; "))
            }
            Self::CutUnderWay => "a cut is under way; first say how it ended".to_owned(),
            Self::NoCut => "no cut is under way".to_owned(),
            Self::StopNotExplained => "the machine was stopped; first say why".to_owned(),
            Self::NoStop => "no stop is waiting for its cause".to_owned(),
            Self::OutOfService(seen) => format!(
                "the machine is out of service ({}), and no answer clears that; it must be put back in service first",
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
                "`{said}` is not a reason; say in words what was repaired, and by whom"
            ),
            Self::NotStanding(why) => {
                format!("the answer of an earlier run does not stand: {}", why.words(show))
            }
            Self::KeptNotSaid => {
                "first say whether the machine had power all the time and nobody moved it".to_owned()
            }
            Self::Over => "this run is over".to_owned(),
        }
    }

    /// Whether the answer would be accepted with a reason.
    pub(crate) fn can_be_accepted(&self) -> bool {
        match self {
            Self::Soft(_) | Self::TooShort { .. } | Self::AlsoInUse { .. } => true,
            Self::Program(examined) => examined.verdict != Judged::Stop,
            Self::Codes(refusal) => refusal.can_be_accepted(),
            _ => false,
        }
    }
}
