//! The values of names in formulas, for one instance of a step.

use super::instance::Instance;
use super::state::State;
use crate::procedure::ShopList;
use crate::procedure::formula::eval::{self, Env, EvalError, TouchedSurface};
use crate::procedure::formula::{BuiltIn, Formula, Reference, Value};
use crate::program::active::ActiveGroup;
use crate::quantity::{Length, Quantity};

/// The values of names in formulas, for one instance of a step.
pub struct FormulaContext<'a> {
    state: &'a State,
    at: &'a Instance,
    own: Option<Value>,
}

impl State {
    /// The present values of names for the instance `at`.
    pub fn env<'a>(&'a self, at: &'a Instance) -> FormulaContext<'a> {
        FormulaContext {
            state: self,
            at,
            own: None,
        }
    }

    /// The figure from the account of the chosen plate, where the account replaces the shop file.
    fn known_of(&self, list: ShopList, fact: &str) -> Option<Length> {
        let known = self.known.as_ref().filter(|_| list == ShopList::Plates)?;
        if self.chosen(list)?.id != known.plate {
            return None;
        }
        match fact {
            "thickness" => Some(known.thickness),
            "steel_depth" => Some(known.steel_depth),
            _ => None,
        }
    }

    /// The latest instance of a step that has a valid answer: the one of the highest pass.
    pub(crate) fn latest(&self, id: &str) -> Option<Instance> {
        self.answers
            .keys()
            .filter(|of| of.step == id)
            .max()
            .cloned()
    }

    /// The instance that the name `id` means in a formula at `from`: the one of the same pass where both repeat
    /// together, else the latest.
    pub(crate) fn referred(&self, id: &str, from: &Instance) -> Option<Instance> {
        let own = self.procedure.pass_of(&from.step);
        let its = self.procedure.pass_of(id);
        match its {
            None => Some(Instance::new(id, None)),
            Some(_) if its == own => Some(Instance::new(id, from.pass)),
            Some(_) => self.latest(id),
        }
    }
}

impl<'a> FormulaContext<'a> {
    /// The same context with `value` as the step's own value.
    #[must_use]
    pub(crate) fn with_value(self, value: Value) -> FormulaContext<'a> {
        FormulaContext {
            own: Some(value),
            ..self
        }
    }

    /// Computes a formula that gives a quantity.
    pub fn quantity(&self, formula: &Formula) -> Result<Quantity, EvalError> {
        eval::quantity(&formula.expr, self)
    }

    /// Computes a formula.
    pub(crate) fn eval(&self, formula: &Formula) -> Result<Value, EvalError> {
        eval::eval(&formula.expr, self)
    }

    /// Whether a condition is true. A condition that depends on a question that was not asked is false.
    pub(crate) fn holds(&self, condition: &Formula) -> bool {
        eval::truth(&condition.expr, self).unwrap_or(false)
    }

    fn built_in(&self, name: BuiltIn) -> Option<Value> {
        let surface = self.state.marks.surface();
        let height = match name {
            BuiltIn::Value => return self.own.clone(),
            BuiltIn::PassNumber => {
                let number = self.at.pass?;
                return Some(Value::Quantity(Quantity::whole(i64::from(number))));
            }
            BuiltIn::ZeroHeight => self.state.marks.frame().zero?,
            BuiltIn::ZeroMachine => self.state.marks.frame().origin?,
            BuiltIn::SurfaceHighest => surface.highest()?.height,
            BuiltIn::SurfaceLowest => surface.lowest()?.height,
            BuiltIn::SurfaceSpread => surface.spread()?,
        };
        Some(height.into())
    }

    /// The value of a group that a codes step read.
    fn shown(&self, id: &str, name: &str) -> Option<Value> {
        let of = self.state.referred(id, self.at)?;
        let codes = self.state.answer(&of)?.codes()?;
        self.state.value_of_group(codes, ActiveGroup::named(name)?)
    }

    fn answered(&self, of: &Instance) -> Option<Value> {
        self.state.answer(of)?.value()
    }
}

impl Env for FormulaContext<'_> {
    fn value_of(&self, name: &Reference) -> Option<Value> {
        if let Some(built_in) = BuiltIn::find(name) {
            return self.built_in(built_in);
        }
        match (name.head.as_str(), name.tail.as_deref()) {
            (head, Some(fact)) => {
                let Some(list) = ShopList::of_one(head) else {
                    return self.shown(head, fact);
                };
                if let Some(length) = self.state.known_of(list, fact) {
                    return Some(length.into());
                }
                self.state.chosen(list)?.fact(fact).cloned()
            }
            (id, None) => self.answered(&self.state.referred(id, self.at)?),
        }
    }

    fn previous(&self, step: &str) -> Option<Value> {
        let before = self.at.pass?.checked_sub(1)?;
        self.answered(&Instance::new(step, Some(before)))
    }
}

impl TouchedSurface for FormulaContext<'_> {
    fn touched_near(&self, height: Length) -> Option<Length> {
        let heights = self.state.marks.surface().heights();
        let all = heights.points().iter().map(|p| p.height);
        all.min_by_key(|h| h.counts().abs_diff(height.counts()))
    }
}
