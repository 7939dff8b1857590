//! Findings with places: what is wrong in a file, where exactly, and what to write instead.
//!
//! A [`Finding`] is data; [`render`] draws it for people and [`json`] for programs. The crate that draws the caret view
//! is named in `render.rs` only.

pub mod finding;
pub mod json;
pub mod nearest;
pub mod render;

pub use finding::{Finding, Findings, Grade, Source, Span};
pub use nearest::nearest;
