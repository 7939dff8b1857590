//! The rules that judge a program, grouped by subject, and the watchers that collect what the rules need.

pub(crate) mod cutting;
pub(crate) mod ending;
pub(crate) mod heights;
pub(crate) mod reach;
pub(crate) mod rule;
pub(crate) mod settings;
pub mod table;
pub(crate) mod text;
pub(crate) mod watch;

pub use rule::{Grade, Rule};
