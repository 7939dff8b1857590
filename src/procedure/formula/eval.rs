//! Computes a formula from the answers given so far.

use super::ast::{Expr, ExprKind, Operator, Reference};
use super::functions::{self, Evaluate};
use super::value::Value;
use crate::quantity::{Length, Quantity, QuantityError};
use std::cmp::Ordering;
use thiserror::Error;

/// The surface touched so far.
pub trait TouchedSurface {
    /// The height of the touched point whose height is nearest to `height`; `None` where nothing was touched.
    fn touched_near(&self, height: Length) -> Option<Length>;
}

/// The source of the values of names.
pub trait Env: TouchedSurface {
    /// The value of a name; `None` when it is not answered or the answer is no longer valid.
    fn value_of(&self, name: &Reference) -> Option<Value>;
    /// The value of a step in the previous pass; `None` in the first pass.
    fn previous(&self, step: &str) -> Option<Value>;
}

/// Why a formula has no value now.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum EvalError {
    /// It depends on a step that is not answered yet.
    #[error("`{0}` is not answered yet")]
    Missing(String),
    /// The arithmetic has no result.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// The step to round to is zero or less.
    #[error("the step to round to must be above zero")]
    StepNotAboveNought,
    /// The length is too large.
    #[error("the result is beyond 100 m")]
    OutOfReach,
    /// No passes can be planned.
    #[error("{0}")]
    NoPlan(String),
    /// The formula was not checked before it was computed.
    #[error("`{0}` cannot be computed; run `skimgate check` on the procedure")]
    Unsound(String),
}

/// Computes `expr`.
pub fn eval(expr: &Expr, env: &dyn Env) -> Result<Value, EvalError> {
    match &expr.kind {
        ExprKind::Number(q) => Ok(Value::Quantity(*q)),
        ExprKind::Word(w) => Ok(Value::Word(w.clone())),
        ExprKind::Name(name) => env
            .value_of(name)
            .ok_or_else(|| EvalError::Missing(name.to_string())),
        ExprKind::Negated(e) => Ok(Value::Quantity(quantity(e, env)?.negated())),
        ExprKind::Not(e) => Ok(Value::Truth(!truth(e, env)?)),
        ExprKind::Call(name, args) => call(name, args, env).map(Value::Quantity),
        ExprKind::Binary(op, a, b) => binary(*op, a, b, env),
    }
}

/// Computes a formula that gives a quantity.
pub(crate) fn quantity(expr: &Expr, env: &dyn Env) -> Result<Quantity, EvalError> {
    match eval(expr, env)? {
        Value::Quantity(q) => Ok(q),
        _ => Err(EvalError::Unsound("a formula".to_owned())),
    }
}

/// Computes a formula that is a condition.
pub(crate) fn truth(expr: &Expr, env: &dyn Env) -> Result<bool, EvalError> {
    match eval(expr, env)? {
        Value::Truth(t) => Ok(t),
        _ => Err(EvalError::Unsound("a condition".to_owned())),
    }
}

fn call(name: &str, args: &[Expr], env: &dyn Env) -> Result<Quantity, EvalError> {
    let unsound = || EvalError::Unsound(name.to_owned());
    let numbers =
        || -> Result<Vec<Quantity>, EvalError> { args.iter().map(|a| quantity(a, env)).collect() };
    match functions::find(name).ok_or_else(unsound)?.evaluate {
        Evaluate::Numbers(value) => value(&numbers()?),
        Evaluate::Surface(value) => value(&numbers()?, env),
        Evaluate::Touches(value) => match args {
            [series] => match eval(series, env)? {
                Value::Touches(touches) => value(&touches),
                _ => Err(unsound()),
            },
            _ => Err(unsound()),
        },
        Evaluate::IfAsked => {
            let [step, otherwise] = args else {
                return Err(unsound());
            };
            match &step.kind {
                ExprKind::Name(name) => match env.value_of(name) {
                    Some(Value::Quantity(q)) => Ok(q),
                    _ => quantity(otherwise, env),
                },
                _ => Err(unsound()),
            }
        }
        Evaluate::PassBefore => {
            let [step, otherwise] = args else {
                return Err(unsound());
            };
            let before = match &step.kind {
                ExprKind::Name(r) => env.previous(&r.head),
                _ => None,
            };
            match before {
                Some(Value::Quantity(q)) => Ok(q),
                _ => quantity(otherwise, env),
            }
        }
    }
}

fn binary(op: Operator, a: &Expr, b: &Expr, env: &dyn Env) -> Result<Value, EvalError> {
    match op {
        // Either side may depend on answers not given yet, so the second is computed only if the first does not decide.
        Operator::And => return Ok(Value::Truth(truth(a, env)? && truth(b, env)?)),
        Operator::Or => return Ok(Value::Truth(truth(a, env)? || truth(b, env)?)),
        Operator::Equal => return Ok(Value::Truth(same(a, b, env)?)),
        Operator::Unequal => return Ok(Value::Truth(!same(a, b, env)?)),
        _ => {}
    }
    let (x, y) = (quantity(a, env)?, quantity(b, env)?);
    let order = |wanted: &[Ordering]| -> Result<Value, EvalError> {
        Ok(Value::Truth(wanted.contains(&x.compare(y)?)))
    };
    match op {
        Operator::Plus => Ok(Value::Quantity(x.plus(y)?)),
        Operator::Minus => Ok(Value::Quantity(x.minus(y)?)),
        Operator::Times => Ok(Value::Quantity(x.times(y)?)),
        Operator::Over => Ok(Value::Quantity(x.over(y)?)),
        Operator::Below => order(&[Ordering::Less]),
        Operator::AtMost => order(&[Ordering::Less, Ordering::Equal]),
        Operator::Above => order(&[Ordering::Greater]),
        Operator::AtLeast => order(&[Ordering::Greater, Ordering::Equal]),
        Operator::Equal | Operator::Unequal | Operator::And | Operator::Or => {
            Err(EvalError::Unsound(op.symbol().to_owned()))
        }
    }
}

fn same(a: &Expr, b: &Expr, env: &dyn Env) -> Result<bool, EvalError> {
    match (eval(a, env)?, eval(b, env)?) {
        (Value::Quantity(x), Value::Quantity(y)) => Ok(x.compare(y)?.is_eq()),
        (x, y) => Ok(x == y),
    }
}
