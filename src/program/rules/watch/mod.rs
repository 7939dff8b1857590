//! Watchers that collect what the rules need while a program is followed; each applies the rules of its subject.

pub mod extent;
pub mod height;
pub mod modal;
