//! The facts of an NC program that questions ask for, so that what a person reads in the program is checked against its
//! examination.

use super::fields::{Fields, scalar};
use super::kinds::{Key, Shape};
use super::model::{Kind, Step};
use crate::diagnostics::{Findings, Span, nearest};
use crate::quantity::Dimension;

/// A fact of a program.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum ProgramFact {
    /// The unit: `metric` or `inch`.
    Unit,
    /// The work offset that it calls, such as `G54`.
    WorkOffset,
    /// The number of the length offset that it cuts with, 0 for none.
    LengthOffset,
    /// The lowest Z that it cuts to.
    LowestZ,
    /// A spindle speed that it cuts with.
    Speed,
    /// A feed that it cuts with.
    Feed,
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

/// The keys of the map, one for each of [`ProgramFact::ALL`].
pub(crate) const KEYS: &[Key] = &{
    let mut keys = [ProgramFact::Unit.key_of_map(); ProgramFact::ALL.len()];
    let mut i = 0;
    while i < keys.len() {
        keys[i] = ProgramFact::ALL[i].key_of_map();
        i += 1;
    }
    keys
};

impl ProgramFact {
    /// All facts.
    pub(crate) const ALL: [Self; 6] = [
        Self::Unit,
        Self::WorkOffset,
        Self::LengthOffset,
        Self::LowestZ,
        Self::Speed,
        Self::Feed,
    ];

    const fn key_of_map(self) -> Key {
        let (name, about) = match self {
            Self::Unit => ("unit", "Asks for its unit: metric or inch"),
            Self::WorkOffset => (
                "work offset",
                "Asks for the work offset it calls, such as G54",
            ),
            Self::LengthOffset => (
                "length offset",
                "Asks for the number of the length offset it cuts with, 0 for none",
            ),
            Self::LowestZ => ("lowest z", "Asks for the lowest Z it cuts to"),
            Self::Speed => ("speed", "Asks for a spindle speed it cuts with"),
            Self::Feed => ("feed", "Asks for a feed it cuts with"),
        };
        Key::optional(name, Shape::StepId, about)
    }

    /// The key, which is also the name shown to people.
    pub(crate) fn key(self) -> &'static str {
        self.key_of_map().name
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
        if let Some(text) = map
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
