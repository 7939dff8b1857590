//! Formulas: arithmetic and comparison of quantities with units and the results of earlier steps.
//!
//! The language is small on purpose. A formula is read ([`parse`]), checked for kinds and names before a run
//! ([`check`]), computed during the run ([`eval`]), and shown with its numbers ([`working`]). Every part has its place
//! in the file.

pub(crate) mod ast;
pub(crate) mod built_in;
pub mod check;
pub mod eval;
mod function_values;
pub mod functions;
pub mod parse;
pub(crate) mod token;
pub mod value;
pub mod working;

pub use ast::{Expr, Formula, Reference};
pub(crate) use built_in::BuiltIn;
pub(crate) use check::Type;
pub use eval::{Env, EvalError, TouchedSurface};
pub use value::Value;
