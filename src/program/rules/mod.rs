//! The rules that judge a program, grouped by subject, and the watchers that collect what the rules need.

pub mod cutting;
pub mod ending;
pub mod heights;
pub mod reach;
pub mod rule;
pub mod settings;
pub mod table;
pub mod text;
pub mod watch;

pub use rule::{Grade, Rule};
