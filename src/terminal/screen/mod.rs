//! The door to the screen: turns a page into text for the terminal at hand, and hands it over.
//!
//! What the terminal can do is decided once (`style`); drawing (`render`) is a pure function of page and style; `door`
//! writes. Nothing else in the program names the crates that paint, wrap or draw progress bars, apart from the prompts of
//! the desk.

mod bar;
mod output;
mod paint;
mod plan;
mod render;
mod style;
mod table;
mod words;

pub(crate) use bar::{Bar, minutes};
pub use output::{Screen, Stream, adopt, deliver, fit, size};
pub(crate) use render::{lines_left, render};
pub use style::{Color, Depth, Style, StyleInputs, utf8_locale};
pub use words::{clean, width, wrap, wrap_hanging};
