//! The facts of an NC program that steps name. Under `says:` of the program step, what a person reads in the program is
//! checked against its examination. With `from program:`, a step is answered by the examination wherever it vouches for
//! the fact, and asked only where it does not.

use super::fields::{Fields, scalar};
use super::kinds::{Key, Shape};
use super::model::{Kind, Step};
use crate::diagnostics::{Findings, Span, nearest};
use crate::quantity::Dimension;
use serde::{Deserialize, Serialize};

/// A fact of a program.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProgramFact {
    /// The unit: `metric` or `inch`.
    Unit,
    /// The work offset that it calls, such as `G54`.
    WorkOffset,
    /// The number of the length offset that it cuts with, 0 for none.
    LengthOffset,
    /// The lowest Z that it cuts to.
    LowestZ,
    /// The spindle speed that it cuts with; the highest where it has several.
    Speed,
    /// The feed that it cuts with; the highest where it has several.
    Feed,
    /// The widest step between two rows.
    StepOver,
    /// How far the cutter's rim runs past the plate's edges, at the edge where it is least.
    Overrun,
    /// The diameter of the cutter that a comment names.
    Cutter,
    /// Whether all its moves are within the travel of the machine's axes.
    Travel,
    /// Whether it goes to its place in X and Y before it goes down.
    FirstMove,
    /// Whether it ends lifted, with an end code that leaves the spindle off.
    Ends,
    /// Whether it leaves offsets, shifts, rotation, scaling and the tool alone.
    Shifts,
}

/// The fact that answers a step, and the place of its word in the file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct FromProgram {
    /// The fact.
    pub fact: ProgramFact,
    /// The place of its word in the file.
    pub span: Span,
}

/// A question that asks for a fact of the program.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ProgramQuestion {
    /// The fact that it asks for.
    pub says: ProgramFact,
    /// The id of the question's step.
    pub step: String,
    /// The place of that id in the file.
    pub span: Span,
}

/// The answer to a question for the unit where it is the millimetre.
pub(crate) const METRIC: &str = "metric";

/// The answers to a question for the unit.
pub(crate) const UNITS: [&str; 2] = [METRIC, "inch"];

/// The keys of the map, one for each fact that a person can read in the program as it stands.
pub(crate) const KEYS: &[Key] = &[
    Key::optional("unit", Shape::StepId, "Asks for its unit: metric or inch"),
    Key::optional(
        "work offset",
        Shape::StepId,
        "Asks for the work offset it calls, such as G54",
    ),
    Key::optional(
        "length offset",
        Shape::StepId,
        "Asks for the number of the length offset it cuts with, 0 for none",
    ),
    Key::optional(
        "lowest z",
        Shape::StepId,
        "Asks for the lowest Z it cuts to",
    ),
    Key::optional(
        "speed",
        Shape::StepId,
        "Asks for a spindle speed it cuts with",
    ),
    Key::optional("feed", Shape::StepId, "Asks for a feed it cuts with"),
];

/// The key with which a step names the fact that answers it.
pub(crate) const FROM_PROGRAM: Key = Key::optional(
    "from program",
    Shape::Words(WORDS),
    "The fact of the program that answers it; asked only where the examination cannot vouch for the fact",
);

/// The words of all facts after `from program`.
const WORDS: &[&str] = &{
    let mut words = [""; ProgramFact::ALL.len()];
    let mut i = 0;
    while i < words.len() {
        words[i] = ProgramFact::ALL[i].word();
        i += 1;
    }
    words
};

impl ProgramFact {
    /// All facts.
    pub(crate) const ALL: [Self; 13] = [
        Self::Unit,
        Self::WorkOffset,
        Self::LengthOffset,
        Self::LowestZ,
        Self::Speed,
        Self::Feed,
        Self::StepOver,
        Self::Overrun,
        Self::Cutter,
        Self::Travel,
        Self::FirstMove,
        Self::Ends,
        Self::Shifts,
    ];

    /// The word after `from program`.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::LengthOffset => "h",
            other => other.key(),
        }
    }

    /// The name shown to people, which is also its key under `says`.
    pub(crate) const fn key(self) -> &'static str {
        match self {
            Self::Unit => "unit",
            Self::WorkOffset => "work offset",
            Self::LengthOffset => "length offset",
            Self::LowestZ => "lowest z",
            Self::Speed => "speed",
            Self::Feed => "feed",
            Self::StepOver => "step-over",
            Self::Overrun => "overrun",
            Self::Cutter => "cutter",
            Self::Travel => "travel",
            Self::FirstMove => "first move",
            Self::Ends => "ends",
            Self::Shifts => "shifts",
        }
    }

    /// The step that is needed to ask for this fact, in words; `None` if `kind` can ask for it.
    fn misfit(self, kind: &Kind) -> Option<&'static str> {
        let reads = |wanted: Dimension| matches!(kind, Kind::Read { dimension, .. } if *dimension == wanted);
        let words = |fit: fn(&str) -> bool| {
            kind.listed_options()
                .is_some_and(|words| words.iter().all(|(word, _)| fit(word)))
        };
        let (fits, wanted) = match self {
            Self::Unit => (
                words(|w| UNITS.contains(&w)),
                "a choose step between `metric` and `inch`",
            ),
            Self::WorkOffset => (
                words(|w| w.starts_with('G')),
                "a choose step between codes such as G54",
            ),
            Self::LengthOffset => (reads(Dimension::RATIO), "a read step for a number"),
            Self::LowestZ => (reads(Dimension::LENGTH), "a read step for a length"),
            Self::Speed => (
                reads(Dimension::SPINDLE_SPEED),
                "a read step for a spindle speed",
            ),
            Self::Feed => (reads(Dimension::FEED), "a read step for a feed"),
            Self::StepOver | Self::Overrun | Self::Cutter => {
                (reads(Dimension::LENGTH), "a read step for a length")
            }
            Self::Travel | Self::FirstMove | Self::Ends | Self::Shifts => (
                matches!(kind, Kind::Confirm { .. }),
                "a confirm step, whose `answer` says that it is so",
            ),
        };
        (!fits).then_some(wanted)
    }
}

/// Reads the map of a program step.
pub(crate) fn read(fields: &mut Fields, findings: &mut Findings) -> Vec<ProgramQuestion> {
    let Some(node) = fields.node("says", findings) else {
        return Vec::new();
    };
    let Some(mut map) = Fields::of(node, "what the program says", findings) else {
        return Vec::new();
    };
    let mut asked = Vec::new();
    for says in ProgramFact::ALL {
        let key = says.key();
        if KEYS.iter().any(|k| k.name == key)
            && let Some(text) = map
                .node(key, findings)
                .and_then(|n| scalar(n, key, findings))
        {
            asked.push(ProgramQuestion {
                says,
                step: text.text.clone(),
                span: text.span,
            });
        }
    }
    map.finish(&[], findings);
    asked
}

/// Reads the fact that answers a step.
pub(crate) fn read_from(fields: &mut Fields, findings: &mut Findings) -> Option<FromProgram> {
    let text = fields.text(FROM_PROGRAM.name, findings)?;
    let fact = ProgramFact::ALL
        .into_iter()
        .find(|fact| fact.word() == text.text);
    if fact.is_none() {
        let message = format!("`{}` is no fact of a program", text.text);
        let finding = findings.error(text.span, message);
        match nearest(&text.text, WORDS.iter().copied()) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!("the facts are: {}", WORDS.join(", "))),
        };
    }
    Some(FromProgram {
        fact: fact?,
        span: text.span,
    })
}

/// Checks that every step answered by the program comes after the program step, can be answered by its fact, and is no
/// question about the person, the hour or an earlier run.
pub(crate) fn check_answered(steps: &[&Step], findings: &mut Findings) {
    let program = steps
        .iter()
        .position(|s| matches!(s.kind, Kind::Program { .. }));
    for (place, step) in steps.iter().enumerate() {
        let Some(FromProgram { fact, span }) = step.from_program else {
            continue;
        };
        let word = fact.word();
        if program.is_none_or(|program| place < program) {
            findings
                .error(
                    span,
                    format!("`{}` is asked before the program is given", step.id),
                )
                .help("a step answered `from program` comes after the program step");
        }
        if let Some(wanted) = fact.misfit(&step.kind) {
            findings
                .error(
                    span,
                    format!("the {word} of a program cannot answer `{}`", step.id),
                )
                .help(format!("`from program: {word}` needs {wanted}"));
        }
        if step.of_person || step.fresh_for.is_some() || step.stands.is_some() {
            findings
                .error(span, format!("a fact of the program cannot answer `{}`", step.id))
                .help(
                    "what is asked of the person, grows old or stands from earlier is no fact of the program; remove `from program`, or those keys",
                );
        }
    }
}

/// Checks that every named step exists, comes after the program, and can ask for its fact.
pub(crate) fn check(steps: &[&Step], findings: &mut Findings) {
    for (place, step) in steps.iter().enumerate() {
        let Kind::Program { says } = &step.kind else {
            continue;
        };
        for asked in says {
            let key = asked.says.key();
            let found = steps.iter().position(|s| s.id == asked.step);
            match found.and_then(|at| Some((at, steps.get(at)?))) {
                None => {
                    let finding = findings.error(
                        asked.span,
                        format!("there is no step `{}` that asks for the {key}", asked.step),
                    );
                    if let Some(near) = nearest(&asked.step, steps.iter().map(|s| s.id.as_str())) {
                        finding.help(format!("did you mean `{near}`?"));
                    }
                }
                Some((at, _)) if at <= place => {
                    findings
                        .error(
                            asked.span,
                            format!("`{}` is asked before the program is given", asked.step),
                        )
                        .help("ask what the program says after the program step");
                }
                Some((_, other)) => {
                    if let Some(wanted) = asked.says.misfit(&other.kind) {
                        findings
                            .error(
                                asked.span,
                                format!("`{}` cannot ask for the {key} of a program", asked.step),
                            )
                            .help(format!("name {wanted}"));
                    }
                }
            }
        }
    }
}
