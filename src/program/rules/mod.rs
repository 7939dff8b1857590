//! The rules by which a program is judged: one a file in `list`, and the watchers that keep what they need and ask them.

pub mod end;
pub mod extent;
pub mod faults;
pub mod height;
pub mod list;
pub mod modal;
pub mod rule;
pub mod table;

pub use rule::{Grade, Rule};
