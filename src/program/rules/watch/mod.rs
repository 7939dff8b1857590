//! Watchers that collect what the rules need while a program is followed; each applies the rules of its subject.

pub(crate) mod extent;
pub(crate) mod height;
pub(crate) mod modal;
