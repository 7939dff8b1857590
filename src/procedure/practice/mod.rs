//! Practice beside a step: when its answer is so in the practice workshop, what makes it so, what a demonstration answers,
//! and which faults come there. A procedure without a word of it is walked the same; a rehearsal then judges less.

pub(crate) mod facts;
pub(crate) mod faults;
mod read;
pub(crate) mod words;

pub use facts::Fact;
pub use faults::Fault;
pub(crate) use read::read;
pub use words::MillWord;

use super::formula::Formula;
use super::formula::ast::{Expr, ExprKind};
use super::formula::check::{Names, Type, Unknown};
use super::formula::{Reference, ast::Operator};
use super::model::{Kind, Options, Step};
use crate::diagnostics::nearest;
use std::collections::BTreeSet;

/// What a step says about practice.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Practice {
    /// When its answers are so.
    pub so: Option<So>,
    /// What it reads.
    pub reads: Option<Formula>,
    /// What a demonstration does before it answers: lines typed at the practice mill.
    pub first: Vec<String>,
    /// What makes the answer so where it is not: lines typed at the practice mill. Empty where the facts say it themselves.
    pub mend: Vec<String>,
    /// What a demonstration answers where nothing in the workshop decides.
    pub answer: Option<String>,
    /// Faults that come at this step.
    pub drills: Vec<Fault>,
}

/// When answers are so.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum So {
    /// The state that the step asks to confirm.
    State(Formula),
    /// Each of these words under a condition, the first that holds counts; others say nothing.
    Words(Vec<(String, Formula)>),
}

impl Practice {
    /// Its formulas.
    pub(crate) fn formulas(&self) -> impl Iterator<Item = &Formula> {
        let so: Vec<&Formula> = match &self.so {
            Some(So::State(formula)) => vec![formula],
            Some(So::Words(words)) => words.iter().map(|(_, f)| f).collect(),
            None => Vec::new(),
        };
        so.into_iter().chain(&self.reads)
    }

    /// The facts that it asks for.
    pub(crate) fn facts(&self) -> BTreeSet<Fact> {
        self.formulas().flat_map(|f| facts(&f.expr)).collect()
    }

    /// What a step that repeats another takes from it: all but the faults that come there.
    #[must_use]
    pub(crate) fn repeated(&self) -> Self {
        Self {
            drills: Vec::new(),
            ..self.clone()
        }
    }
}

/// The facts that an expression names.
pub(crate) fn facts(expr: &Expr) -> BTreeSet<Fact> {
    let names = expr.references();
    names.into_iter().filter_map(fact).collect()
}

/// The fact that a name stands for.
pub(crate) fn fact(name: &Reference) -> Option<Fact> {
    Fact::find(&name.to_string())
}

/// The states that an expression wants to be so, in the order in which they stand: those behind a `not` are left out.
pub(crate) fn wanted(expr: &Expr) -> Vec<Fact> {
    let mut found = Vec::new();
    let mut open = vec![expr];
    while let Some(expr) = open.pop() {
        match &expr.kind {
            ExprKind::Name(name) => found.extend(fact(name)),
            ExprKind::Binary(Operator::And | Operator::Or, a, b) => open.extend([b.as_ref(), a]),
            _ => {}
        }
    }
    found
}

impl Step {
    /// Whether it asks for something that its kind alone does not decide in the workshop, and has no `practice:` that does.
    pub(crate) fn says_nothing_of_practice(&self) -> bool {
        let asks = match &self.kind {
            Kind::Confirm { .. } | Kind::Read { .. } => true,
            Kind::Choose { options, .. } => matches!(options, Options::Listed(_)),
            Kind::Note
            | Kind::Touch(_)
            | Kind::WorkOut { .. }
            | Kind::Enter(_)
            | Kind::Program { .. }
            | Kind::Codes(_)
            | Kind::Sign { .. }
            | Kind::Cut { .. }
            | Kind::Inspect
            | Kind::Wait { .. } => false,
        };
        let says = |p: &Practice| p.so.is_some() || p.reads.is_some() || p.answer.is_some();
        asks && !self.practice.as_ref().is_some_and(says)
    }

    /// The facts that an honest answer to it depends on.
    pub(crate) fn facts(&self) -> BTreeSet<Fact> {
        let mut found = self
            .practice
            .as_ref()
            .map(Practice::facts)
            .unwrap_or_default();
        match &self.kind {
            Kind::Program { .. } => {
                found.insert(Fact::RightProgram);
            }
            Kind::Codes(_) => {
                found.extend([Fact::Unit, Fact::Offset, Fact::ActiveH, Fact::Shift]);
            }
            Kind::Confirm { .. }
            | Kind::Choose { .. }
            | Kind::Read { .. }
            | Kind::Note
            | Kind::Touch(_)
            | Kind::WorkOut { .. }
            | Kind::Enter(_)
            | Kind::Sign { .. }
            | Kind::Cut { .. }
            | Kind::Inspect
            | Kind::Wait { .. } => {}
        }
        found
    }
}

/// The names that formulas under `practice:` can use.
struct Workshop;

impl Names for Workshop {
    fn kind_of(&self, name: &Reference) -> Result<Type, Unknown> {
        let Some(fact) = fact(name) else {
            let name = name.to_string();
            let names = || Fact::ALL.iter().map(|f| f.name());
            // Often only the part before the dot is missing or another.
            let tail = |full: &&'static str| full.rsplit('.').next() == name.rsplit('.').next();
            let near = nearest(&name, names()).or_else(|| names().find(tail));
            return Err(Unknown {
                message: format!("`{name}` is no fact of the practice workshop"),
                help: Some(match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "`skimgate rehearse --facts` lists them".to_owned(),
                }),
            });
        };
        Ok(match fact.row().is {
            facts::Is::State { .. } | facts::Is::Holding { .. } => Type::Truth,
            facts::Is::Word(words) => Type::Words(words.iter().map(|w| (*w).to_owned()).collect()),
            facts::Is::Number(dimension, _) => Type::Quantity(dimension),
        })
    }

    fn if_asked(&self, step: &str) -> Result<Type, Unknown> {
        self.has_previous(step)
    }

    fn has_previous(&self, _: &str) -> Result<Type, Unknown> {
        Err(Unknown {
            message: "the practice workshop is asked for what is so now".to_owned(),
            help: Some("leave `previous` out".to_owned()),
        })
    }
}
