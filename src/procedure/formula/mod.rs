//! Formulas: ordinary arithmetic and comparison over quantities with units and the results of earlier steps.
//!
//! Small on purpose. A formula is read ([`parse`]), checked for kinds and names before a run ([`check`]), worked out
//! during it ([`eval`]), and shown with its numbers put in ([`working`]). Every part knows its place in the file.

pub mod ast;
pub mod built_in;
pub mod check;
pub mod eval;
pub mod functions;
pub mod parse;
pub mod token;
pub mod value;
pub mod working;

pub use ast::{Expr, Formula, Reference};
pub use built_in::BuiltIn;
pub use check::{Names, Type};
pub use eval::{Env, EvalError, TouchedSurface};
pub use value::Value;
