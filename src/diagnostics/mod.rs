//! Findings with locations: what is wrong in a file, where exactly, and what to write instead.
//!
//! A [`Finding`] is data; [`render`] draws it for people and [`json`] writes it for programs. Only `render.rs` names
//! the crate that draws the caret view.

pub(crate) mod finding;
pub mod json;
pub(crate) mod nearest;
pub mod render;

pub use finding::{Finding, Findings, Grade, Source, Span};
pub(crate) use nearest::nearest;
