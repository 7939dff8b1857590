//! A procedure that was read and checked: phases of steps. The reader guarantees that it is valid.

use super::formula::Formula;
use super::kinds::StepKind;
use super::practice::Practice;
use super::program_facts::{FromProgram, ProgramQuestion};
use super::standing::StandingRule;
use crate::diagnostics::Span;
use crate::program::active::ActiveGroup;
use crate::quantity::parse::DecimalMark;
use crate::quantity::{Dimension, Exact, Length, Quantity, UnitSystem};
use std::collections::BTreeMap;

/// A procedure.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Procedure {
    /// The id.
    pub id: String,
    /// The title.
    pub title: String,
    /// The version, as its author counts.
    pub version: String,
    /// The unit system for typed values, unless the run sets another one.
    pub unit: UnitSystem,
    /// The decimal mark that is allowed in addition to the full stop.
    pub decimal: DecimalMark,
    /// What the procedure is for.
    pub applies_to: String,
    /// What has priority over it, such as the machine's manual.
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

    /// The step with this id.
    pub fn step(&self, id: &str) -> Option<&Step> {
        self.steps().find(|s| s.id == id)
    }

    /// The rule of the pass with this name.
    pub(crate) fn pass(&self, name: &str) -> Option<&PassRule> {
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

/// The lowest role that the second signer of a hold point must have.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SecondSigner {
    /// Any other person on the list of people.
    Operator,
    /// A trainer or an owner.
    Trainer,
    /// An owner.
    Owner,
}

impl SecondSigner {
    /// All values with their words.
    pub(crate) const WORDS: [(&'static str, Self); 3] = [
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
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Danger => "DANGER",
            Self::Warning => "WARNING",
            Self::Caution => "CAUTION",
            Self::Notice => "NOTICE",
        }
    }
}

/// A caution: the hazard, its consequence, how to avoid it, and the source.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Caution {
    /// The signal word.
    pub word: SignalWord,
    /// What can hurt or break, in a sentence.
    pub hazard: String,
    /// What happens.
    pub consequence: String,
    /// What to do.
    pub avoid: String,
    /// Where it is from.
    pub source: String,
}

/// How often the phases of a pass are repeated.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PassRule {
    /// The name that phases give in `each`.
    pub name: String,
    /// The inspect step whose answer `clean` ends the repetition. Without one, the pass is repeated `at_most` times.
    pub until: Option<String>,
    /// The largest number of passes.
    pub at_most: u32,
}

/// Steps that belong together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Phase {
    /// The id.
    pub id: String,
    /// The title.
    pub title: String,
    /// The pass it repeats with, if it does.
    pub each: Option<String>,
    /// The steps in their order.
    pub steps: Vec<Step>,
}

/// One step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Step {
    /// The id, which is its name in formulas.
    pub id: String,
    /// The place of its id in the file.
    pub span: Span,
    /// The title, which is shown to the operator and used in the record.
    pub title: String,
    /// What to do.
    pub act: Option<String>,
    /// What to do, in a few words for a person who did it often.
    pub in_short: Option<String>,
    /// Why, for learning.
    pub why: String,
    /// What its answer can prove and what it cannot.
    pub proves: Option<String>,
    /// Names of its cautions.
    pub cautions: Vec<String>,
    /// The condition under which it is asked; `None` if it is always asked.
    pub when: Option<Formula>,
    /// How long its answer is valid; `None` for no limit.
    pub fresh_for: Option<Quantity>,
    /// Whether it is asked again after a handover.
    pub of_person: bool,
    /// Whether its answer becomes invalid when the machine may have lost its position.
    pub after_lost_position: bool,
    /// The ids of steps that it depends on physically, in addition to those that its formulas name.
    pub rests_on: Vec<String>,
    /// How long its answer stands in later runs; `None` where it is asked in every run.
    pub stands: Option<StandingRule>,
    /// The fact of the program that answers it, where there is one.
    pub from_program: Option<FromProgram>,
    /// What a rehearsal knows of it.
    pub practice: Option<Practice>,
    /// What the step asks, by kind.
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
    pub(crate) fn formulas(&self) -> impl Iterator<Item = &Formula> {
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
    /// The only value that passes, or for answers in words the only word.
    pub exactly: Option<Formula>,
    /// Why the limit exists.
    pub because: Option<String>,
}

impl Limit {
    /// Every formula in it.
    pub(crate) fn formulas(&self) -> impl Iterator<Item = &Formula> {
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

/// The options of a choose step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Options {
    /// Words with their meanings.
    Listed(Vec<(String, String)>),
    /// Items of the shop file.
    From(ShopList),
}

/// The way in which a series of touches is read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ZeroBy {
    /// Always in this way.
    Fixed(crate::plate::ZeroMode),
    /// In the way that was chosen in the step with this id.
    Chosen(String),
    /// In the way that the shop file says of the machine (`machine.readout_zero`).
    OfMachine,
}

/// What a touch step asks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Touch {
    /// The points to touch, in order; empty where the operator names them.
    pub points: Vec<String>,
    /// The way in which the series is read.
    pub zero: ZeroBy,
    /// Whether machine Z is asked in addition to the readout.
    pub machine_readings: bool,
    /// The number of touches of each point.
    pub repeats: u32,
    /// Whether the first point is touched again at the end.
    pub closing: bool,
    /// The touch step whose heights these continue.
    pub continues: Option<String>,
    /// Whether it is one touch at a point that the operator names, where the tip then stays. A point that is known already
    /// keeps its height.
    pub(crate) tip_stays: bool,
    /// Limits of each reading.
    pub limits: Limits,
    /// The places of points on the plate, as far as they are known.
    pub places: PointPlaces,
    /// How far each touch may be wrong, up or down. It is only for what is shown; no answer depends on it.
    pub doubt: Option<Formula>,
}

/// The distance of a point along one side of the plate, from its left or front edge.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SidePosition {
    /// A length.
    From(Length),
    /// A share of the side's length.
    Share(Exact),
}

impl SidePosition {
    /// The distance on a side of this length; `None` on overflow.
    pub(crate) fn on(self, side: Length) -> Option<Length> {
        match self {
            Self::From(length) => Some(length),
            Self::Share(share) => {
                let whole = Quantity::from(side).times(Quantity::ratio(share)).ok()?;
                Length::nearest(whole)
            }
        }
    }
}

/// Points with their places: the distance to the right and away from the front.
pub(crate) type PointPlaces = Vec<(String, [SidePosition; 2])>;

/// What an enter step asks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Enter {
    /// The value to type into the control.
    pub value: Formula,
    /// The field of the control, in words.
    pub into: String,
    /// The height at which the readout then shows zero.
    pub sets_zero_at: Option<Formula>,
    /// How far the read-back may differ.
    pub tolerance: Option<Formula>,
    /// Limits of the value.
    pub limits: Limits,
}

/// What a codes step asks.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Codes {
    /// The groups that must be known.
    pub must_show: Vec<ActiveGroup>,
    /// The values that nobody can waive.
    pub must: CodesLimit,
    /// The values from which a deviation may be accepted with a reason.
    pub expect: CodesLimit,
    /// Whether what is expected is not shown, neither before nor in a refusal.
    pub blind: bool,
    /// The earlier codes step with which it is compared.
    pub same_as: Option<String>,
}

/// Values that groups of codes must have.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct CodesLimit {
    /// The groups, each with a formula for its value.
    pub wanted: Vec<(ActiveGroup, Formula)>,
    /// Why the limit exists.
    pub because: Option<String>,
}

impl Codes {
    /// Whether a group is always known where these groups must be shown. A length offset includes its number.
    pub fn knows(must_show: &[ActiveGroup], group: ActiveGroup) -> bool {
        let with_length = group == ActiveGroup::H && must_show.contains(&ActiveGroup::LengthOffset);
        with_length || must_show.contains(&group)
    }

    /// Its formulas.
    fn formulas(&self) -> impl Iterator<Item = &Formula> {
        let both = self.must.wanted.iter().chain(&self.expect.wanted);
        both.map(|(_, formula)| formula)
    }
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
        /// Other states that invalidate the confirmations which this step checks again.
        undoes: Vec<String>,
        /// Other states that mean that the machine must not be used.
        out_of_service: Vec<String>,
    },
    /// One of several.
    Choose {
        /// The options.
        options: Options,
        /// The only word that passes.
        must: Vec<Limit>,
    },
    /// A number with a unit.
    Read {
        /// The kind of quantity.
        dimension: Dimension,
        /// Whether a bare number means percent.
        percent: bool,
        /// Whether it is the plate's thickness, which is compared with the plate's account.
        measures_plate: bool,
        /// The limits of the value.
        limits: Limits,
    },
    /// Free text.
    Note,
    /// A series of touches.
    Touch(Box<Touch>),
    /// A value by formula.
    WorkOut {
        /// The formula that gives the value; its names are answers of earlier steps.
        value: Formula,
        /// The kind of quantity that it gives.
        dimension: Dimension,
        /// The limits of the value.
        limits: Limits,
        /// The formulas by which ways of cutting are compared; empty where none are shown.
        ways: super::read_ways::Compared,
        /// Whether it is a plane, for which the effect on the plate is shown.
        map: bool,
    },
    /// A value for the control and its read-back.
    Enter(Box<Enter>),
    /// An NC program, fingerprinted.
    Program {
        /// The later questions that ask what the program says.
        says: Vec<ProgramQuestion>,
    },
    /// The active codes of the control.
    Codes(Box<Codes>),
    /// A hold point.
    Sign {
        /// The lowest role that may sign, a word of [`SecondSigner::WORDS`]. Old records can have other words.
        role: String,
        /// The statement that is signed.
        states: String,
        /// The lowest role of the second signer; `None` where the hold point needs none.
        second: Option<SecondSigner>,
    },
    /// Cycle start.
    Cut {
        /// The height at which the tip travels.
        plane: Formula,
        /// The expected time.
        expected: Option<Formula>,
        /// How long the release is valid.
        release_for: Quantity,
    },
    /// What is clean and what is not.
    Inspect,
    /// A timer.
    Wait {
        /// The time to wait.
        time: Formula,
        /// Whether a shorter time may be accepted with a reason.
        may_be_shortened: bool,
        /// Whether the time runs while other questions go on.
        in_background: bool,
    },
}

/// Words that every prompt takes as a command when they are typed alone.
pub(crate) const WORDS_ALONE: [&str; 12] = [
    "?", "why", "help", "holds", "map", "more", "ways", "findings", "leave", "end", "keep", "done",
];
/// Words that every prompt takes as a command, with any words after them.
pub(crate) const WORDS_FIRST: [&str; 5] = ["back", "note", "handover", "stop", "units"];

/// The answer of an inspect step that ends a repetition.
pub(crate) const CLEAN: &str = "clean";
/// The answer of an inspect step that leads to another pass.
pub(crate) const SKIN_LEFT: &str = "skin left";
/// The ways a cut can end, in the words that formulas use.
pub(crate) const CUT_ENDS: [&str; 3] = ["finished", "stopped", "emergency stop"];

impl Kind {
    /// The words of a choose step that lists them, each with its meaning; `None` for every other step.
    pub(crate) fn listed_options(&self) -> Option<&[(String, String)]> {
        let Self::Choose {
            options: Options::Listed(words),
            ..
        } = self
        else {
            return None;
        };
        Some(words)
    }

    /// The list of the shop file that a choose step chooses from; `None` for every other step.
    pub(crate) fn shop_list(&self) -> Option<ShopList> {
        let Self::Choose {
            options: Options::From(list),
            ..
        } = self
        else {
            return None;
        };
        Some(*list)
    }

    /// What a codes step asks; `None` for every other step.
    pub fn codes(&self) -> Option<&Codes> {
        let Self::Codes(codes) = self else {
            return None;
        };
        Some(codes)
    }

    /// The kind without its content.
    pub(crate) fn step_kind(&self) -> StepKind {
        match self {
            Self::Confirm { .. } => StepKind::Confirm,
            Self::Choose { .. } => StepKind::Choose,
            Self::Read { .. } => StepKind::Read,
            Self::Note => StepKind::Note,
            Self::Touch(_) => StepKind::Touch,
            Self::WorkOut { .. } => StepKind::WorkOut,
            Self::Enter(_) => StepKind::Enter,
            Self::Program { .. } => StepKind::Program,
            Self::Codes(_) => StepKind::Codes,
            Self::Sign { .. } => StepKind::Sign,
            Self::Cut { .. } => StepKind::Cut,
            Self::Inspect => StepKind::Inspect,
            Self::Wait { .. } => StepKind::Wait,
        }
    }

    /// The word that starts a step of this kind in the file.
    pub(crate) fn word(&self) -> &'static str {
        self.step_kind().word()
    }
}

impl Step {
    /// Every formula of the step.
    pub(crate) fn formulas(&self) -> Vec<&Formula> {
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
            Kind::Codes(codes) => found.extend(codes.formulas()),
            Kind::Confirm { .. }
            | Kind::Note
            | Kind::Program { .. }
            | Kind::Sign { .. }
            | Kind::Inspect => {}
        }
        found
    }
}
