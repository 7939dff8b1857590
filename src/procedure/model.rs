//! A procedure as read and checked: phases of steps. Nothing here can be wrong in itself; the reader saw to that.

use super::formula::Formula;
use super::kinds::StepKind;
use super::practice::Practice;
use super::program_facts::ProgramQuestion;
use crate::diagnostics::Span;
use crate::quantity::parse::DecimalMark;
use crate::quantity::{Dimension, Exact, Length, Quantity, UnitSystem};
use std::collections::BTreeMap;

/// A procedure file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Procedure {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its version, as its author counts.
    pub version: String,
    /// The unit system typed in unless the run says otherwise.
    pub unit: UnitSystem,
    /// Which mark besides the full stop separates decimals.
    pub decimal: DecimalMark,
    /// What it is for.
    pub applies_to: String,
    /// What rules above it.
    pub defers_to: Vec<String>,
    /// Cautions by name.
    pub cautions: BTreeMap<String, Caution>,
    /// The passes, in the order of their phases.
    pub passes: Vec<PassRule>,
    /// The phases in their order.
    pub phases: Vec<Phase>,
}

impl Procedure {
    /// The steps in their order.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        self.phases.iter().flat_map(|p| &p.steps)
    }

    /// The step of that id.
    pub fn step(&self, id: &str) -> Option<&Step> {
        self.steps().find(|s| s.id == id)
    }

    /// The rule of the passes of that name.
    pub fn pass(&self, name: &str) -> Option<&PassRule> {
        self.passes.iter().find(|p| p.name == name)
    }

    /// The pass that a step belongs to, if its phase repeats.
    pub fn pass_of(&self, id: &str) -> Option<&str> {
        self.phases
            .iter()
            .find(|p| p.steps.iter().any(|s| s.id == id))
            .and_then(|p| p.each.as_deref())
    }
}

/// Who signs beside the operator at a hold point that asks for it, at the least.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SecondSigner {
    /// Anybody else on the list of people.
    Operator,
    /// A trainer or an owner.
    Trainer,
    /// An owner.
    Owner,
}

impl SecondSigner {
    /// All of them, by their words.
    pub const WORDS: [(&'static str, Self); 3] = [
        ("operator", Self::Operator),
        ("trainer", Self::Trainer),
        ("owner", Self::Owner),
    ];
}

/// The signal words, strongest first, as ANSI Z535 and ISO 3864 rank them (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SignalWord {
    /// Will cause death or serious injury if not avoided.
    Danger,
    /// Could cause death or serious injury.
    Warning,
    /// Could cause minor or moderate injury.
    Caution,
    /// Damage to things, or other practice unrelated to injury.
    Notice,
}

impl SignalWord {
    /// The word as it is printed, in capitals.
    pub fn word(self) -> &'static str {
        match self {
            Self::Danger => "DANGER",
            Self::Warning => "WARNING",
            Self::Caution => "CAUTION",
            Self::Notice => "NOTICE",
        }
    }
}

/// A caution: the hazard, what it does, how to avoid it, and where that is from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Caution {
    /// Its signal word.
    pub word: SignalWord,
    /// What can hurt or break, in a sentence.
    pub hazard: String,
    /// What happens.
    pub consequence: String,
    /// What to do.
    pub avoid: String,
    /// Its source.
    pub source: String,
}

/// How often the phases of a pass are walked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PassRule {
    /// The name that phases give in `each`.
    pub name: String,
    /// The inspect step whose `clean` ends the repetition; without one, all `at_most` are walked.
    pub until: Option<String>,
    /// Most passes walked.
    pub at_most: u32,
}

/// Steps that belong together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Phase {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The pass it repeats with, if it does.
    pub each: Option<String>,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// One step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Step {
    /// Its id, the name formulas use.
    pub id: String,
    /// Where its id stands in the file.
    pub span: Span,
    /// What is read out to the operator, and what the record calls the step.
    pub title: String,
    /// What to do.
    pub act: Option<String>,
    /// Why, for learning.
    pub why: String,
    /// What its answer can prove and what it cannot.
    pub proves: Option<String>,
    /// Names of its cautions.
    pub cautions: Vec<String>,
    /// When it is asked at all.
    pub when: Option<Formula>,
    /// How long its answer holds.
    pub fresh_for: Option<Quantity>,
    /// Whether it is asked again of whoever takes over.
    pub of_person: bool,
    /// Whether its answer no longer holds once the machine may not know where it stands.
    pub after_lost_position: bool,
    /// Steps it rests on physically, besides those its formulas name.
    pub rests_on: Vec<String>,
    /// What a rehearsal knows of it.
    pub practice: Option<Practice>,
    /// What is asked.
    pub kind: Kind,
}

/// A hard and a soft range.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Limits {
    /// Nobody can waive these.
    pub must: Vec<Limit>,
    /// A named person may accept a value outside these, with a reason.
    pub expect: Vec<Limit>,
}

impl Limits {
    /// Every formula in them.
    pub fn formulas(&self) -> impl Iterator<Item = &Formula> {
        self.must
            .iter()
            .chain(&self.expect)
            .flat_map(Limit::formulas)
    }
}

/// Bounds by formulas, and why they are there.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Limit {
    /// Smallest value that passes.
    pub at_least: Option<Formula>,
    /// Largest value that passes.
    pub at_most: Option<Formula>,
    /// The value must be above this.
    pub more_than: Option<Formula>,
    /// The value must be below this.
    pub less_than: Option<Formula>,
    /// The only value that passes; for answers in words, the only word.
    pub exactly: Option<Formula>,
    /// Why.
    pub because: Option<String>,
}

impl Limit {
    /// Every formula in it.
    pub fn formulas(&self) -> impl Iterator<Item = &Formula> {
        [
            &self.at_least,
            &self.at_most,
            &self.more_than,
            &self.less_than,
            &self.exactly,
        ]
        .into_iter()
        .flatten()
    }
}

/// A list of the shop file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum ShopList {
    /// Its machines.
    Machines,
    /// Its plates.
    Plates,
    /// Its cutters.
    Cutters,
}

/// What can be chosen.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Options {
    /// Words with what they mean.
    Listed(Vec<(String, String)>),
    /// Items of the shop file.
    From(ShopList),
}

/// Which way a series of touches is read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ZeroBy {
    /// Always this way.
    Fixed(crate::plate::ZeroMode),
    /// The way that this earlier step chose.
    Chosen(String),
}

/// What a touch step asks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Touch {
    /// The points to touch, in order; empty where the operator names them.
    pub points: Vec<String>,
    /// Which way.
    pub zero: ZeroBy,
    /// Whether machine Z is asked beside the readout.
    pub machine_readings: bool,
    /// Touches of each point.
    pub repeats: u32,
    /// Whether the first point is touched again at the end.
    pub closing: bool,
    /// The touch step whose heights these continue.
    pub continues: Option<String>,
    /// Limits of each reading.
    pub limits: Limits,
    /// Where points lie on the plate, where that is known.
    pub places: PointPlaces,
    /// How far each touch may be off, up or down. Shown and reckoned with only; nothing rests on it.
    pub doubt: Option<Formula>,
}

/// The way to a point along one side of the plate, from its left or front edge.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SidePosition {
    /// As a length.
    From(Length),
    /// As a share of the side.
    Share(Exact),
}

impl SidePosition {
    /// Its length on a side that long; `None` beyond what a length holds.
    pub fn on(self, side: Length) -> Option<Length> {
        match self {
            Self::From(length) => Some(length),
            Self::Share(share) => {
                let whole = Quantity::from(side).times(Quantity::ratio(share)).ok()?;
                Length::nearest(whole)
            }
        }
    }
}

/// Points with their places: to the right and away from the front.
pub type PointPlaces = Vec<(String, [SidePosition; 2])>;

/// What an enter step asks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Enter {
    /// The value to type into the control.
    pub value: Formula,
    /// The field of the control.
    pub into: String,
    /// The height at which the readout then reads nought.
    pub sets_zero_at: Option<Formula>,
    /// How far the read-back may be off.
    pub tolerance: Option<Formula>,
    /// Limits of the value.
    pub limits: Limits,
}

/// What a step asks, by kind.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Kind {
    /// Challenge and response.
    Confirm {
        /// The response that states the condition.
        answer: String,
        /// Plausible other states.
        wrong: Vec<String>,
        /// Whether the order varies and the word must be exact.
        critical: bool,
        /// Other states in which what it looks at once more holds no more: the confirmations it rests on fall.
        undoes: Vec<String>,
        /// Other states that mean that the machine must not be used.
        out_of_service: Vec<String>,
    },
    /// One of several.
    Choose {
        /// Of what.
        options: Options,
        /// The only word that passes.
        must: Vec<Limit>,
    },
    /// A number with a unit.
    Read {
        /// What is read.
        dimension: Dimension,
        /// Whether a bare number means percent.
        percent: bool,
        /// Whether it is the plate's thickness, to be held against its account.
        measures_plate: bool,
        /// Its limits.
        limits: Limits,
    },
    /// A free text.
    Note,
    /// A series of touches.
    Touch(Box<Touch>),
    /// A value by formula.
    WorkOut {
        /// The formula that gives the value; its names are answers of earlier steps.
        value: Formula,
        /// What it gives.
        dimension: Dimension,
        /// Its limits.
        limits: Limits,
        /// What ways of taking it off are compared by, where they are shown with it.
        ways: super::read_ways::Compared,
        /// Whether it is a plane, and what it does to the plate is shown with it.
        map: bool,
    },
    /// A value for the control and its read-back.
    Enter(Box<Enter>),
    /// An NC program, fingerprinted.
    Program {
        /// Which questions ask what it says.
        says: Vec<ProgramQuestion>,
    },
    /// A hold point.
    Sign {
        /// What whoever signs must be, at the least; a word of [`Beside::WORDS`] but in old records.
        role: String,
        /// What they sign to.
        states: String,
        /// Whose signature is asked for beside it, whoever has the run.
        second: Option<SecondSigner>,
    },
    /// Cycle start.
    Cut {
        /// The height at which the tip travels.
        plane: Formula,
        /// How long it takes.
        expected: Option<Formula>,
        /// How long the release holds.
        release_for: Quantity,
    },
    /// What is clean and what is not.
    Inspect,
    /// A timer.
    Wait {
        /// How long.
        time: Formula,
        /// Whether less may be accepted, with a reason.
        may_be_shortened: bool,
    },
}

/// Words that do something of their own when they stand alone at a prompt.
pub const WORDS_ALONE: [&str; 9] = [
    "?", "why", "help", "holds", "map", "leave", "end", "keep", "done",
];
/// Words that do something of their own whatever follows them.
pub const WORDS_FIRST: [&str; 4] = ["back", "note", "handover", "stop"];

/// The answer of an inspect step that ends a repetition.
pub const CLEAN: &str = "clean";
/// The answer of an inspect step that leads round again.
pub const SKIN_LEFT: &str = "skin left";
/// How a cut can end, as formulas have it.
pub const CUT_ENDS: [&str; 3] = ["finished", "stopped", "emergency stop"];

impl Kind {
    /// Which kind it is.
    pub fn step_kind(&self) -> StepKind {
        match self {
            Self::Confirm { .. } => StepKind::Confirm,
            Self::Choose { .. } => StepKind::Choose,
            Self::Read { .. } => StepKind::Read,
            Self::Note => StepKind::Note,
            Self::Touch(_) => StepKind::Touch,
            Self::WorkOut { .. } => StepKind::WorkOut,
            Self::Enter(_) => StepKind::Enter,
            Self::Program { .. } => StepKind::Program,
            Self::Sign { .. } => StepKind::Sign,
            Self::Cut { .. } => StepKind::Cut,
            Self::Inspect => StepKind::Inspect,
            Self::Wait { .. } => StepKind::Wait,
        }
    }

    /// The word that starts a step of this kind in the file.
    pub fn word(&self) -> &'static str {
        self.step_kind().word()
    }
}

impl Step {
    /// Every formula of the step.
    pub fn formulas(&self) -> Vec<&Formula> {
        let mut found: Vec<&Formula> = self.when.iter().collect();
        match &self.kind {
            Kind::Choose { must, .. } => found.extend(must.iter().flat_map(Limit::formulas)),
            Kind::Read { limits, .. } => found.extend(limits.formulas()),
            Kind::Touch(touch) => found.extend(touch.limits.formulas()),
            Kind::WorkOut { value, limits, .. } => {
                found.push(value);
                found.extend(limits.formulas());
            }
            Kind::Enter(enter) => {
                found.push(&enter.value);
                found.extend(enter.sets_zero_at.iter().chain(&enter.tolerance));
                found.extend(enter.limits.formulas());
            }
            Kind::Cut {
                plane, expected, ..
            } => {
                found.push(plane);
                found.extend(expected);
            }
            Kind::Wait { time, .. } => found.push(time),
            Kind::Confirm { .. }
            | Kind::Note
            | Kind::Program { .. }
            | Kind::Sign { .. }
            | Kind::Inspect => {}
        }
        found
    }
}
