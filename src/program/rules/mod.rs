//! The rules by which a program is judged: a table of what each is, and watchers that find where one is broken.

pub mod end;
pub mod extent;
pub mod height;
mod height_end;
pub mod list;
pub mod modal;
pub mod rule;
pub mod table;
pub mod words;

pub use rule::{Grade, Rule};
